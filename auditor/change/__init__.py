"""Decisions on changes: deviations, comparison, gate, marks and drift."""
