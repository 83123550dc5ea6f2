"""Transcript to readings: pure functions, no recognition and no files."""
