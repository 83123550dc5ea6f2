"""What can be said of a signed report, each fact by itself."""
