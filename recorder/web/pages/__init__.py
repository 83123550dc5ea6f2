"""How every page and every error looks."""
