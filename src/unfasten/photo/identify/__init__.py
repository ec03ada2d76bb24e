"""Naming what was measured or read: threads, drives, packages, date codes, markings, and the use of a board."""
