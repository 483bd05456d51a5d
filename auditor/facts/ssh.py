"""Facts: ssh."""
