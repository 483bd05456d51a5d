"""The HTML report: one self-contained page."""
