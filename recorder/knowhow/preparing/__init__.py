"""Before a job: the length of the belt, which template fits, what is due for a check."""
