"""What the firm's own jobs teach: recipes, trends and the preparation of the next job. Pure."""
