"""The picture as pixels: reading files, linear light, exposure."""
