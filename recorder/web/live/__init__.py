"""The page of a live session, and what it exchanges with the server."""
