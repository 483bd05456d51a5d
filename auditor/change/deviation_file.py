"""``deviations.toml`` → the deviations of a site, every fault with its line and what to do.

Says nothing of what they cover: that is a matter of the cards (``scoring.accepted``).
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from functools import cache
from typing import Any

import orjson

from auditor.errors import InputError, RulesetError
from auditor.packaged import packaged
from auditor.record.nearest import nearest
from auditor.record.toml_place import line_of
from auditor.record.toml_text import parse_toml
from auditor.rules.fault import Faults, RuleFault
from auditor.rules.fitting import faults_of_document
from auditor.rules.loading import faults_of_shape, raise_faults
from auditor.rules.program import Program
from auditor.scoring.deviation import Deviation, DeviationSet


def read_deviations(text: bytes, file: str, program: Program) -> DeviationSet:
    """Return the deviations that a TOML text holds, in its order.

    Raises:
        RulesetError: with every fault: of shape, a rule that is not there, an order of dates that can't be.
    """
    document = _days_as_text(_parsed(text, file))
    raise_faults([*faults_of_document(document)], text, file)
    found = Faults(faults_of_shape(document, _schema()))
    if found.spoil("deviation"):
        raise_faults(found.found, text, file)
    raw = document.get("deviation", [])
    whole = [(index, each) for index, each in enumerate(raw) if not found.stand_in(("deviation", index))]
    for index, each in whole:
        found.found.extend(_faults_of_meaning(each, ("deviation", index), program))
    raise_faults(found.found, text, file)
    digest, lines = hashlib.sha256(text).hexdigest(), text.decode("utf-8")
    most = program.tailoring.deviation_days_maximum
    deviations = (_deviation(each, file, line_of(lines, ("deviation", index)), most) for index, each in whole)
    return DeviationSet(file, digest, tuple(deviations))


def _parsed(text: bytes, file: str) -> dict[str, Any]:
    try:
        return parse_toml(text, file)
    except InputError as error:
        raise RulesetError(error.faults) from error


def _days_as_text(value: Any) -> Any:  # noqa: ANN401 - any TOML value
    """Return a document with its days as text, so that one schema serves both ways to write them."""
    if isinstance(value, dict):
        return {key: _days_as_text(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_days_as_text(item) for item in value]
    return value.isoformat() if isinstance(value, date) and not isinstance(value, datetime) else value


@cache
def _schema() -> Mapping[str, Any]:
    text = packaged("change", "deviations-1.schema.json").read_bytes()
    schema: Mapping[str, Any] = orjson.loads(text)
    return schema


def _faults_of_meaning(
    raw: Mapping[str, Any], path: Sequence[str | int], program: Program
) -> Iterator[RuleFault]:
    ids = {rule.id for rule in program.rules}
    if raw["rule"] not in ids:
        yield RuleFault((*path, "rule"), f"no rule {raw['rule']}", nearest(raw["rule"], ids))
    approved, expires = date.fromisoformat(raw["approved"]), date.fromisoformat(raw["expires"])
    if expires < approved:
        problem = f"expires on {expires}, before it was approved on {approved}"
        yield RuleFault((*path, "expires"), problem, "Correct one of the two days.")


def _deviation(raw: Mapping[str, Any], file: str, line: int, most_days: int) -> Deviation:
    approved, expires = date.fromisoformat(raw["approved"]), date.fromisoformat(raw["expires"])
    return Deviation(
        raw["rule"],
        tuple(raw["cards"]),
        raw.get("member", ""),
        raw.get("owner", "").strip(),
        raw["reason"],
        approved,
        expires,
        raw.get("ticket", ""),
        file,
        line,
        max(0, (expires - approved).days - most_days),
    )
