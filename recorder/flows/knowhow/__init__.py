"""Recipes, trends and preparation as commands and pages use them: archive to answer."""
