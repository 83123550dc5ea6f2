"""Signatures on a finished document."""
