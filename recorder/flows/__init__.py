"""One narrated file per data path."""
