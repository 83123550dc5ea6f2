"""Text to tokens, the vocabulary in force as data, and its phrases found in tokens."""
