"""Published rules as dated data plus small pure functions."""
