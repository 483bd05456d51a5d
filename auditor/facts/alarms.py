"""Facts: alarms."""
