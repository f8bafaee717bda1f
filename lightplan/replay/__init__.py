"""A season gone through morning by morning: what each policy would have lit, and what it would have cost."""
