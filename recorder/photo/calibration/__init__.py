"""Lens calibration from photos of the card, a ChArUco board or a chessboard."""
