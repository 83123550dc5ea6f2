"""Who may enter, and what is refused."""
