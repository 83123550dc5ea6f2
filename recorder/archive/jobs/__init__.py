"""The folder of one job, which is the truth: its record, events, originals and reports."""
