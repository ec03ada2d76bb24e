"""The workspace: records and their entries in SQLite or PostgreSQL."""
