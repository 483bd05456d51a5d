"""Facts: snmp."""
