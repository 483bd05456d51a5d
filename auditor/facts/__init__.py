"""Facts: pure functions from a record to a value, one topic a file."""
