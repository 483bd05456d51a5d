"""The formats of a gate's decision by name; a format's module is imported only when it is used."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import TypeAlias

from auditor.change.gate import Decision
from auditor.report.writer import Look, Run

Render: TypeAlias = Callable[[Decision, Run, Look], bytes]
"""Gives a whole report: a decision holds what changed, and no more."""


def _table() -> Render:
    from auditor.report.gate_table import gate_table

    return gate_table


def _json() -> Render:
    from auditor.report.gate_json import gate_json

    return gate_json


def _markdown() -> Render:
    from auditor.report.gate_markdown import gate_markdown

    return gate_markdown


def _html() -> Render:
    from auditor.report.gate_html import gate_html

    return gate_html


def _sarif() -> Render:
    from auditor.report.gate_sarif import gate_sarif

    return gate_sarif


def _junit() -> Render:
    from auditor.report.gate_junit import gate_junit

    return gate_junit


GATE_FORMATS: Mapping[str, Callable[[], Render]] = MappingProxyType(
    {
        "table": _table,
        "json": _json,
        "markdown": _markdown,
        "html": _html,
        "sarif": _sarif,
        "junit": _junit,
    }
)
