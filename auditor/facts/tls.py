"""Facts: tls."""
