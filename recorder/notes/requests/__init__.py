"""What the words ask of the recorder itself, rather than tell of the job."""
