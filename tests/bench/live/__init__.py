"""Live hearing against the clock, and against the file path."""
