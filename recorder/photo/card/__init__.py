"""The reference card: its layout, its print, and itself in a photo."""
