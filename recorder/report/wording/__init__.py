"""All wording of the report: one catalogue, numbers and times by locale."""
