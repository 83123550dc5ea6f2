"""The pages before and after a job: start, review, signatures, report, archive."""
