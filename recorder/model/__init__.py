"""Immutable values that pass between the stages; no input or output."""
