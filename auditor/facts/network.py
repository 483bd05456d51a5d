"""Facts: network."""
