"""Regulation (EU) 2023/1542, Article 11: whether the end user can remove and replace a portable battery."""
