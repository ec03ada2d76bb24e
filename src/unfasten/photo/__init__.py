"""Photographs: opening them safely, measuring on them, and identifying what they show."""
