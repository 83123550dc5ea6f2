"""A synthetic archive of any size, and what the program's archive does with it."""
