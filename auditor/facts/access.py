"""Facts: access."""
