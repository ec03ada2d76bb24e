"""The live bench: lines in, ledger entries kept, answers out."""
