"""Batteries: what a label means, how much room a cell has left, which transport class it falls in, how to handle it."""
