"""The page of a job card: what it may show, and the drawing of the belt's length."""
