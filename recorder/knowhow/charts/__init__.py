"""The pictures of trends, as SVG."""
