"""Shortest routes to a part: derived from what holds and covers what, solved exactly, replayed independently."""
