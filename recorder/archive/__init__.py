"""Job folders on disk, the index derived from them, and search."""
