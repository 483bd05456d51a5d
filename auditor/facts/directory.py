"""Facts: directory."""
