"""What the tests with a browser share: what they need, and printed sheets as text."""

import re
import shutil
import subprocess
import unicodedata
from pathlib import Path

HERE = Path(__file__).parent


def why_not(*, paper: bool = False) -> str:
    """Return why a browser, or with ``paper`` poppler too, can't be used here; empty if it can."""
    if not shutil.which("chromium"):
        return "no chromium here: apt-get install chromium"
    if not shutil.which("node"):
        return "no node here: apt-get install nodejs npm"
    if not (HERE / "node_modules").is_dir():
        return "no node_modules in tests/browser: run npm ci there"
    if paper and not (shutil.which("pdftotext") and shutil.which("pdfinfo")):
        return "no pdftotext here: apt-get install poppler-utils"
    return ""


def sheets_of(pdf: Path) -> list[str]:
    """Return the text of each sheet of a PDF, squeezed."""
    command = [shutil.which("pdftotext") or "", "-raw", str(pdf), "-"]
    text = subprocess.run(command, capture_output=True, check=True).stdout.decode("utf-8")  # noqa: S603 - our own file
    return [squeezed(sheet) for sheet in text.split("\f") if sheet.strip()]


def squeezed(text: str) -> str:
    """Return a text without blanks, in one form: print breaks lines where it likes."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))
