"""Decree 2020-1757: the French repairability index; planned, not coded."""
