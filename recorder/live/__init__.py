"""One live session: what was said, what to ask, what is missing. No web, no threads, no files."""
