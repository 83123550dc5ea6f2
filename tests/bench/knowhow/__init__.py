"""A synthetic firm with planted truths, and what its past jobs teach by the program."""
