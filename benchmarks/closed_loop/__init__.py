"""How many trials, how much material and time until the dried stroke matches the original and flows."""
