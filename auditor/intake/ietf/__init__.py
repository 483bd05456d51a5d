"""Instances of the IETF models → settings."""
