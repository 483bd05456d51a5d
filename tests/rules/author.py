"""A small world for tests of the rule language: facts, parameters, and reading one condition."""

import tomllib
from collections.abc import Mapping
from typing import Final

from auditor.facts.fact import Context, Fact, FactValue, Settings, fact
from auditor.rules.condition import Condition
from auditor.rules.fault import Faults, RuleFault
from auditor.rules.parsing import Surroundings, list_tokens, parse_condition
from auditor.rules.rule import Parameter


@fact(reads=["/card/id"], source="made for this test", unit="days")
def days_left(_record: Settings, _context: Context) -> int | None:
    """Count days."""


@fact(reads=["/name"], source="made for this test", about="/accounts")
def name_is_odd(_member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Judge a name."""


@fact(reads=["/card/id"], source="made for this test")
def odd_names(_record: Settings, _context: Context) -> list[str] | None:
    """Name the odd ones."""


@fact(reads=["/card/id"], source="made for this test")
def anything(_record: Settings, _context: Context) -> FactValue:
    """Say anything."""


@fact(reads=["/card/id"], source="made for this test")
def pair_of_words(_record: Settings, _context: Context) -> tuple[str, ...]:
    """Name two."""
    return ("a", "b")


FACTS: Final[Mapping[str, Fact]] = {
    each.name: each for each in (days_left, name_is_odd, odd_names, anything, pair_of_words)
}
PARAMETERS: Final = {
    "length_minimum": Parameter("length_minimum", 12, "characters", "shortest password", "test"),
    "banner_required": Parameter(
        "banner_required", value=False, unit="", meaning="banner asked for", source="test"
    ),
    "good_versions": Parameter("good_versions", ["tls_1_2"], "", "versions that may be used", "test"),
}


def read(text: str, member_list: str = "") -> tuple[Condition, list[RuleFault]]:
    """Return the condition that a TOML value makes, and the faults noted."""
    faults = Faults()
    tokens = list_tokens(member_list, (), faults) if member_list else ()
    raw = tomllib.loads(f"value = {text}")["value"]
    return parse_condition(raw, ("require",), Surroundings(FACTS, PARAMETERS, faults, tokens)), faults.found
