"""Photo to measurement: card, calibration, seam, edges, uncertainty, overlay."""
