"""Facts: mail."""
