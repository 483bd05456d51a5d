"""The formats of a drift by name; a format's module is imported only when it is used."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import TypeAlias

from auditor.report.drift_view import Drift
from auditor.report.writer import Look, Run

Render: TypeAlias = Callable[[Drift, Run, Look], bytes]
"""Gives a whole report: a drift holds what moved, and no more."""


def _table() -> Render:
    from auditor.report.drift_table import drift_table

    return drift_table


def _json() -> Render:
    from auditor.report.drift_json import drift_json

    return drift_json


def _markdown() -> Render:
    from auditor.report.drift_markdown import drift_markdown

    return drift_markdown


def _html() -> Render:
    from auditor.report.drift_html import drift_html

    return drift_html


def _junit() -> Render:
    from auditor.report.drift_junit import drift_junit

    return drift_junit


def _sarif() -> Render:
    from auditor.report.drift_sarif import drift_sarif

    return drift_sarif


DRIFT_FORMATS: Mapping[str, Callable[[], Render]] = MappingProxyType(
    {"table": _table, "json": _json, "markdown": _markdown, "html": _html, "sarif": _sarif, "junit": _junit}
)
