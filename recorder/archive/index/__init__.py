"""The index over all jobs: derived from their folders, and made again from them at any time."""
