"""Pages of recipes, trends and preparation."""
