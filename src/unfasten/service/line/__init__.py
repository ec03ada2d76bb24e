"""The entry line of the bench: short trade input, read into ledger entries and written back."""
