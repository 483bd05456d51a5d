"""Reports: one writer a format."""
