"""Delegated Regulation (EU) 2023/1669: repairability index and class of smartphones and slate tablets."""
