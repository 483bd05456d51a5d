"""Sweeps and what becomes of their findings: the store, the cache beside it, the arithmetic."""
