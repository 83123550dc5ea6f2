"""Where the archive lies, and how a file of it is replaced, by one writer at a time."""
