"""Tests of the understanding of what was said."""
