"""The text files that lie beside the code of the pages: templates, styles, the script."""

from importlib.resources import files


def asset(name: str) -> str:
    """Return a text file that lies beside this module."""
    return files("auditor.report.html").joinpath(name).read_text("utf-8")
