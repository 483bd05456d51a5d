"""The formats of a report by name; a format's module is imported only when it is used."""

from collections.abc import Callable, Mapping
from importlib import import_module
from pathlib import PurePath
from types import MappingProxyType
from typing import TypeAlias

from auditor.fleet.estate import DETAILED_CARDS
from auditor.report.writer import WriterMaker

MakerLoader: TypeAlias = Callable[[], WriterMaker]
"""Imports what a format needs, and returns the maker of its writers."""


def _load_later(module: str, maker: str) -> MakerLoader:
    def load() -> WriterMaker:
        made: WriterMaker = getattr(import_module(f"auditor.report.{module}"), maker)
        return made

    return load


FORMATS: Mapping[str, MakerLoader] = MappingProxyType(
    {
        "table": _load_later("table", "make_table"),
        "json": _load_later("result_json", "make_json"),
        "ndjson": _load_later("result_ndjson", "make_ndjson"),
        "csv": _load_later("findings_csv", "make_csv"),
        "controls-csv": _load_later("controls_csv", "make_controls_csv"),
        "reuse-csv": _load_later("reuse_csv", "make_reuse_csv"),
        "ways-csv": _load_later("ways_csv", "make_ways_csv"),
        "markdown": _load_later("markdown", "make_markdown"),
        "html": _load_later("html.page", "make_html"),
        "sarif": _load_later("sarif", "make_sarif"),
        "junit": _load_later("junit", "make_junit"),
    }
)

WITHOUT_CONTROLS = frozenset(("table", "csv", "reuse-csv", "ways-csv", "junit"))
"""Formats that show no controls: a run for these alone loads no crosswalk."""

WITH_PLACES = frozenset(("sarif",))
"""Formats that show where in its file each finding stands."""

WITH_REACH = frozenset(("table", "markdown", "html"))
"""Formats that show who can switch the load off, and what time decides.

The first of these json and ndjson show, too, where the run asks for it.
"""

CARDS_IN_FULL: Mapping[str, int] = MappingProxyType({"html": DETAILED_CARDS, "markdown": 100, "table": 20})
"""How many of the worst cards a format shows from the sums; the others show each card as it comes."""

WITH_CLOCKS = WITH_REACH | {"json", "ndjson"}
"""Formats that show whose events can be put in order."""

ENDINGS = MappingProxyType(
    {
        ".txt": "table",
        ".json": "json",
        ".ndjson": "ndjson",
        ".csv": "csv",
        ".md": "markdown",
        ".html": "html",
        ".htm": "html",
        ".sarif": "sarif",
        ".xml": "junit",
    }
)
"""Which format the ending of a file's name asks for."""


def format_of_file(path: str) -> str | None:
    """Return the format that the ending of a file's name asks for, or None if it names none."""
    return ENDINGS.get(PurePath(path).suffix.lower())
