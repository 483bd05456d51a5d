"""Facts: maintenance."""
