"""The seam between the two ends: its course, its gap, its fingers, and what to look at."""
