"""Two states of a card for the tests of changes: the small rules of the reports, own settings."""

from collections.abc import Callable, Iterable
from typing import Any

import orjson

from auditor.change.gate import Decision, Terms, decide
from auditor.facts.fact import Context
from auditor.fleet.choices import load_program
from auditor.record.reading import Record, read_record
from auditor.scoring.band import Band
from auditor.scoring.deviation import DeviationSet
from tests.report.sample import AS_OF, make_run
from tests.rules.matrix import ROOT

SMALL = make_run().program
SHIPPED = load_program()
COMPLIANT: dict[str, Any] = orjson.loads((ROOT / "fixtures/cards/compliant.json").read_bytes())


def record(settings: dict[str, Any], file: str = "card.json") -> Record:
    """Read settings as a record."""
    return read_record(orjson.dumps(settings), file)


def edited(settings: dict[str, Any], *edits: Callable[[dict[str, Any]], object]) -> dict[str, Any]:
    """Return a copy of settings with some edits."""
    copy: dict[str, Any] = orjson.loads(orjson.dumps(settings))
    for edit in edits:
        edit(copy)
    return copy


def terms(
    hold_at: Band = Band.MEDIUM, deviations: DeviationSet | None = None, *, shipped: bool = False
) -> Terms:
    """Return by what a gate decides in tests; the small rules unless the shipped ones are asked for."""
    return Terms(SHIPPED if shipped else SMALL, Context(AS_OF), hold_at, deviations)


def gate(
    before: Iterable[dict[str, Any]], after: Iterable[dict[str, Any]], by: Terms | None = None
) -> Decision:
    """Decide on a change of settings."""
    return decide(map(record, before), map(record, after), by or terms())
