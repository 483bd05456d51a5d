"""Facts: probe."""
