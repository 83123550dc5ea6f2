"""The belt's two edges."""
