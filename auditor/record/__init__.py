"""The record: its schema, its pointers, and reading one from bytes."""
