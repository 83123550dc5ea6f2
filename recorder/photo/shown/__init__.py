"""The pictures of a measurement: overlay and plot."""
