"""Cards to plan visits for: the demo estate, generated cards, and cards that set a trap."""

import gzip
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

import orjson

from auditor.errors import RecordError
from auditor.facts.catalogue import FACTS
from auditor.facts.fact import Context
from auditor.facts.words import well_known_words
from auditor.fleet.choices import load_program
from auditor.procedure.plan import Asked, CardPlan, plan_card
from auditor.record.reading import Record, read_record
from auditor.rules.loading import load_ruleset
from auditor.rules.program import Program, make_program
from auditor.rules.tailoring import Tailoring
from tests.procedure.traps import CIRCULAR, RULE
from tests.rules.matrix import AS_OF, ROOT, program

CONTEXT = Context(AS_OF, well_known_words(), in_work_tree=False)
ADDRESS = "10.40.1.7"
"""An address from which the cards of the demo's works let people in."""


@cache
def demo_program() -> Program:
    """Return the rules of the demo's operator."""
    return load_program((), str(ROOT / "fixtures/estate/witnessmark.toml"))


@cache
def demo_records() -> tuple[Record, ...]:
    """Return the records of the demo estate that can be read."""
    return tuple(_records())


def _records() -> Iterator[Record]:
    for path in sorted((ROOT / "fixtures/estate").rglob("*.json*")):
        content = path.read_bytes()
        text = gzip.decompress(content) if path.suffix == ".gz" else content
        try:
            yield read_record(text, path.name)
        except RecordError:
            continue
    lines = (ROOT / "fixtures/estate/outstations/outstations.ndjson").read_bytes().splitlines()
    yield from (read_record(line, "outstations.ndjson") for line in lines if line.strip())


def compliant(changes: Mapping[str, Any]) -> Record:
    """Return the compliant card with whole sections, or members of sections, changed."""
    card = orjson.loads((ROOT / "fixtures/cards/compliant.json").read_bytes())
    for place, value in changes.items():
        *sections, name = place.split("/")
        holder = card
        for section in sections:
            holder = holder[int(section) if isinstance(holder, list) else section]
        holder[int(name) if isinstance(holder, list) else name] = value
    return read_record(orjson.dumps(card), "card.json")


def plan(record: Record, asked: Asked = Asked(), rules: Program | None = None) -> CardPlan:  # noqa: B008 - frozen
    """Return the plan of a card by the shipped rules."""
    return plan_card(record, rules or program({}), CONTEXT, asked)


def own_program(*rules: tuple[str, str, str]) -> Program:
    """Return a program of rules that switch a service off, with what they say of visits."""
    text = CIRCULAR + "".join(
        RULE.format(id=name, service=service, visit=visit) for name, service, visit in rules
    )
    return make_program([load_ruleset(text.encode(), "own.toml", FACTS)], Tailoring(), FACTS)
