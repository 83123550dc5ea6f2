"""What is told without an amount: names, identifiers, findings, times, and where in the job."""
