"""Amounts to the fields that the words around them name."""
