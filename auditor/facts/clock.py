"""Facts: clock."""
