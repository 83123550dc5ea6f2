"""Blurred edges fitted to raw pixels, many at once, with the camera as it is."""
