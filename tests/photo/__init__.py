"""Tests of the photo part, on rendered scenes with known truth."""
