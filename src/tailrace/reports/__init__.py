"""Results in words and numbers for people."""
