"""Facts: log."""
