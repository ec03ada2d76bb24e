"""Rule sets by jurisdiction: numbers as data, criteria as small pure functions."""
