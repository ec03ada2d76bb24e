"""Figures of the report as SVG text; drawn once, shown by every rendering."""
