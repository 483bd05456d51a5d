"""Facts: services."""
