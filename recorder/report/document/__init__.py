"""The PDF of the page made into a complete document, unsigned: see ``assemble``."""
