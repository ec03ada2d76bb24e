"""Rules of France."""
