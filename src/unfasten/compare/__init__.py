"""Comparing records: which parts are the same, what differs, and what may be exchanged for what."""
