"""Context to HTML to PDF."""
