"""Records in one file: a zip with manifest, checksums, ledger, record and photos."""
