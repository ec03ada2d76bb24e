"""Typed page contexts and their renderings."""
