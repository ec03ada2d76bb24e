"""The command line: a thin door onto the services."""
