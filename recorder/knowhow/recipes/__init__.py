"""Which settings gave good splices on such a belt, and what the firm decided to keep."""
