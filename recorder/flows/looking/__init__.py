"""Pictures from a page, opened and measured in processes of their own that may use only so much."""
