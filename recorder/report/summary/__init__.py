"""The summary of a month, for the firm or for one customer."""
