"""Facts: capture."""
