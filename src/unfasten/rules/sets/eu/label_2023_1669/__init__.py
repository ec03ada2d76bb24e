"""Delegated Regulation (EU) 2023/1669: quantities of the label beside the repairability index, from test figures."""
