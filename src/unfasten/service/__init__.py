"""One module per use case; joins engines with the outside."""
