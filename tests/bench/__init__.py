"""Benchmarks: slow, printed, and not part of the timed tests."""
