"""Facts: accounts."""
