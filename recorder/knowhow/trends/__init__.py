"""Whether a process is as it was: control charts, run rules, outcomes over time."""
