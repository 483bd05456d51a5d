"""Formats are found by name, and cost nothing until they are used."""

import io
import subprocess
import sys

import pytest

from auditor.report.formats import FORMATS, format_of_file
from auditor.report.writer import Look
from tests.report.sample import make_run


def test_the_formats_are_those_that_are_promised() -> None:
    """The command line and the pages name exactly these."""
    assert list(FORMATS) == [
        "table", "json", "ndjson", "csv", "controls-csv", "reuse-csv", "ways-csv", "markdown", "html",
        "sarif", "junit",
    ]  # fmt: skip


@pytest.mark.parametrize("name", FORMATS)
def test_every_format_makes_a_writer(name: str) -> None:
    """A format's maker is found, takes a run, a stream and a look, and gives a writer."""
    writer = FORMATS[name]()(make_run(), io.BytesIO(), Look())
    assert callable(writer.add)
    assert callable(writer.finish)


def test_naming_the_formats_imports_none_of_them() -> None:
    """Startup counts: a module of a format is imported when the format is used, not before."""
    script = (
        "import sys, auditor.report.formats; "
        "print([m for m in sys.modules if m.startswith('auditor.report.') and m.split('.')[2] in "
        "{'table', 'result_json', 'result_ndjson', 'findings_csv', 'controls_csv', 'ways_csv', 'markdown', "
        "'html', 'reach_view'}])"
    )
    found = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)  # noqa: S603
    assert found.stdout.strip() == "[]"


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("out/report.html", "html"),
        ("REPORT.HTM", "html"),
        ("a.b.json", "json"),
        ("a.ndjson", "ndjson"),
        ("findings.csv", "csv"),
        ("notes.md", "markdown"),
        ("r.txt", "table"),
        ("report", None),
        ("report.pdf", None),
    ],
)
def test_the_ending_of_a_file_names_its_format(path: str, name: str | None) -> None:
    """An ending names a format whatever its case; an unknown one names none."""
    assert format_of_file(path) == name
