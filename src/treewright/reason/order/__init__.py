"""The best order of checks: which one next, until the fault is known, in the fewest minutes."""
