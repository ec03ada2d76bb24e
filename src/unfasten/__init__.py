"""Unfasten: one record of a disassembly in; routes, repair indices and reports out."""

__version__ = "0.1.0"
