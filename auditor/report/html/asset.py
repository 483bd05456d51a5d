"""The text files that lie beside the code of the pages: templates, styles, the script."""

from auditor.packaged import packaged


def asset(name: str) -> str:
    """Return a text file that lies beside this module."""
    return packaged("report", "html", name).read_text("utf-8")
