"""Lists that somebody brings in, against what a pool has; and what a pool has as a list again."""
