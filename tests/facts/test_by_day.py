"""Which facts ask for the moment of the audit: declared, and held against their text and their doings."""

import ast
import random
from datetime import UTC, datetime
from pathlib import Path

import pytest

from auditor.facts.catalogue import FACTS
from auditor.facts.fact import Context
from auditor.facts.words import well_known_words
from auditor.record.pointer import split, value_at
from tests.rules.mutation import random_card

FOLDER = Path(__file__).parents[2] / "auditor/facts"


class Timeless(Context):
    """A context that fails whoever asks it for the moment."""

    __slots__ = ()

    def __getattribute__(self, name: str) -> object:
        """Refuse the one question."""
        if name == "as_of":
            raise LookupError("asked for the moment of the audit")
        return super().__getattribute__(name)


def test_the_facts_that_ask_for_the_moment_are_those_that_say_so() -> None:
    """Read from the text: who names ``as_of``, who calls such a function, and so on upwards."""
    uses = {
        node.name: {each.attr for each in ast.walk(node) if isinstance(each, ast.Attribute)}
        | {each.id for each in ast.walk(node) if isinstance(each, ast.Name)}
        for file in FOLDER.rglob("*.py")
        for node in ast.walk(ast.parse(file.read_text("utf-8")))
        if isinstance(node, ast.FunctionDef)
    }
    asking = {"as_of"}
    while more := {name for name, used in uses.items() if used & asking} - asking:
        asking |= more
    assert {name for name in FACTS if name in asking} == {name for name, f in FACTS.items() if f.by_day}


@pytest.mark.parametrize("seed", range(20))
def test_no_other_fact_asks_for_the_moment(seed: int) -> None:
    """Over random cards, every fact that is not declared computes without it."""
    context = Timeless(datetime.min.replace(tzinfo=UTC), well_known_words(), in_work_tree=True)
    record = random_card(random.Random(seed))  # noqa: S311 - made-up data
    for fact in FACTS.values():
        members = (value_at(record, split(fact.about)) or ()) if fact.about else (None,)
        for member in members:
            if not fact.by_day:
                fact(*([] if member is None else [member]), record, context)
