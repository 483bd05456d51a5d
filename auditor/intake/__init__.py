"""Files of settings → records."""
