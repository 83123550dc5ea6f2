"""What goes out of the archive and comes in: packages, tables, merging, removal on request."""
