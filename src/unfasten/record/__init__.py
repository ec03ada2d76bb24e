"""What was seen on the bench: a plain immutable record, one noun a file."""
