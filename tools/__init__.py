"""Scripts that make files of the package."""
