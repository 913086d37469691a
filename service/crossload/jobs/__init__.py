"""What the scheduler runs: log, call one use-case, return."""
