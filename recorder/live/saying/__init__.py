"""What the recorder says: short sentences for the ear, in the language that is spoken."""
