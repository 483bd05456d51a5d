"""The findings that a procedure is asked to mend: those of an earlier result of an audit."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import orjson

from auditor.cli.terminal import say
from auditor.errors import Fault, InputError
from auditor.intake.folder import unreadable
from auditor.procedure.plan import CardPlan
from auditor.procedure.step import key_of
from auditor.rules.program import Program

_SCHEMA = "witnessmark/result-1"


class AskedFindings(NamedTuple):
    """The cards of a result, and its findings by card, rule and member."""

    file: str
    cards: frozenset[str]
    findings: frozenset[tuple[str, str, str]]


def asked_findings(path: str, program: Program) -> AskedFindings:
    """Read the findings of a result that an audit wrote as JSON.

    Raises:
        InputError: if the file can't be read, or is no such result.
    """
    each = {rule.id: rule.for_each for rule in program.rules}
    try:
        text = Path(path).read_bytes()
    except (OSError, ValueError) as error:
        raise InputError([unreadable(path, error)]) from error
    try:
        document = orjson.loads(text)
        if document["schema"] != _SCHEMA:
            raise _no_result(path)
        cards = frozenset(card["card"]["id"] for card in document["cards"])
        return AskedFindings(path, cards, frozenset(_keys(document["cards"], each)))
    except (orjson.JSONDecodeError, KeyError, TypeError) as error:
        raise _no_result(path) from error


def tell_what_is_gone(asked: AskedFindings, plans: Sequence[CardPlan]) -> None:
    """Say which findings that were asked for are not found on their cards: mended since, or by other rules.

    Raises:
        InputError: if the result does not hold a card of the visit.
    """
    if missing := [plan.record.card_id for plan in plans if plan.record.card_id not in asked.cards]:
        raise InputError(
            [
                Fault(asked.file, "", 0, 0, f"it holds no card {card}", "Audit all cards of the visit.")
                for card in missing
            ]
        )
    here = {plan.record.card_id for plan in plans}
    found = {(plan.record.card_id, *key_of(finding)) for plan in plans for finding in plan.before.findings}
    for card, rule, place in sorted(key for key in asked.findings - found if key[0] in here):
        say(f"{asked.file}: {rule}{' at ' * bool(place)}{place} is not found on card {card} any more")


def _keys(cards: Sequence[Any], each: Mapping[str, str]) -> Iterator[tuple[str, str, str]]:
    for card in cards:
        for finding in card["findings"]:
            place = finding.get("pointer", "") if each.get(finding["rule"]) else ""
            yield card["card"]["id"], finding["rule"], place


def _no_result(path: str) -> InputError:
    remedy = "Write one with: witnessmark audit … --format json --output result.json"
    return InputError([Fault(path, "", 0, 0, "not a result of an audit in JSON", remedy)])
