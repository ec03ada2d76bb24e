"""Numbers with unit, uncertainty and source; strictly read data files."""
