"""Typed contexts of the report: everything a rendering may show, and nothing else."""
