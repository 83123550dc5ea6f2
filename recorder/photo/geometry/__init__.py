"""Where millimetres lie in the photo: lens, plane, lines, and pixels around a place."""
