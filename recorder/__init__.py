"""Seamnote: a hands-free job recorder for conveyor-belt splicing."""

__version__ = "0.1.0"
