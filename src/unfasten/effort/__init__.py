"""Work times that were not taken: predicted by published models whose tables are data, and compared with the log."""
