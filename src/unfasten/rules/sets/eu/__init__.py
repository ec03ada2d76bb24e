"""Rule sets of the European Union."""
