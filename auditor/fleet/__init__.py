"""Streams of records and the sums over an estate."""
