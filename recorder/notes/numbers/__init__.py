"""Tokens to numbers, and to amounts with their units."""
