"""What a person asks, to the jobs that answer it."""
