"""Regulation (EU) 2023/1670: ecodesign requirements of Annex II on repair, as verdicts."""
