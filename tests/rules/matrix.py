"""The rule matrix: cases as data, applied to the compliant card, judged by the real engine."""

import copy
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import orjson

from auditor.facts.catalogue import FACTS
from auditor.facts.fact import Context, Settings
from auditor.facts.localized_key import password_to_key
from auditor.facts.words import well_known_words
from auditor.record.pointer import split
from auditor.record.reading import read_record
from auditor.rules.loading import load_ruleset
from auditor.rules.program import Program, all_results, judge_card, make_program
from auditor.rules.result import Outcome, RuleResult
from auditor.rules.rule import Ruleset
from auditor.rules.tailoring import Tailoring, read_site_file, tailor

ROOT = Path(__file__).parents[2]
AS_OF = datetime(2026, 11, 25, 12, tzinfo=UTC)
CASE_FILES = sorted((ROOT / "tests/rules/cases").glob("*.toml"))


@dataclass(frozen=True, slots=True)
class Case:
    """One case: changes to the compliant card, and what a rule must then say."""

    file: str
    number: int
    rule: str
    outcome: Outcome
    set: tuple[Mapping[str, Any], ...]
    remove: tuple[str, ...]
    parameters: Mapping[str, Any]
    pointers: tuple[str, ...] | None
    newly_fails: tuple[str, ...] | None
    in_work_tree: bool | None = False
    """Where the record lies; a case says ``yes``, ``no`` or ``unknown``."""

    @property
    def name(self) -> str:
        """Name the case for the test's report."""
        return f"{self.file}-{self.rule}-{self.outcome}-{self.number}"


_LIES = {"yes": True, "no": False, "unknown": None}


def read_cases() -> list[Case]:
    """Read every case of every family."""
    return [
        Case(
            path.stem,
            number,
            raw["rule"],
            Outcome(raw["outcome"]),
            tuple(raw.get("set", ())),
            tuple(raw.get("remove", ())),
            raw.get("parameters", {}),
            tuple(raw["pointers"]) if "pointers" in raw else None,
            tuple(raw["newly_fails"]) if "newly_fails" in raw else None,
            _LIES[raw.get("in_work_tree", "no")],
        )
        for path in CASE_FILES
        for number, raw in enumerate(tomllib.loads(path.read_text("utf-8"))["case"])
    ]


@cache
def rulesets() -> tuple[Ruleset, ...]:
    """Load every shipped ruleset."""
    paths = sorted((ROOT / "rulesets").glob("*.toml"))
    return tuple(load_ruleset(path.read_bytes(), path.name, FACTS) for path in paths)


@cache
def _program(parameters: bytes) -> Program:
    changed = orjson.loads(parameters)
    text = "[parameters]\n" + "".join(f"{k} = {orjson.dumps(v).decode()}\n" for k, v in changed.items())
    tailoring = tailor(read_site_file(text.encode(), "case"), rulesets(), FACTS) if changed else Tailoring()
    return make_program(rulesets(), tailoring, FACTS)


def program(parameters: Mapping[str, Any]) -> Program:
    """Return the program of all shipped rulesets with some parameters changed."""
    return _program(orjson.dumps(parameters, option=orjson.OPT_SORT_KEYS))


@cache
def _compliant() -> bytes:
    return (ROOT / "fixtures/cards/compliant.json").read_bytes()


def card_of(case: Case) -> Settings:
    """Return the compliant card with the changes of a case made."""
    card: Settings = orjson.loads(_compliant())
    for pointer in case.remove:
        _change(card, split(pointer), None, remove=True)
    for change in case.set:
        _change(card, split(change["at"]), copy.deepcopy(change["to"]), remove=False)
    return card


def _change(card: Any, tokens: tuple[str, ...], value: Any, *, remove: bool) -> None:
    for token in tokens[:-1]:
        card = card[int(token)] if isinstance(card, list) else card.setdefault(token, {})
    last = tokens[-1]
    if isinstance(card, list):
        if last == "-":
            card.append(value)
        elif remove:
            del card[int(last)]
        else:
            card[int(last)] = value
    elif remove:
        del card[last]
    else:
        card[last] = value


@cache
def word_keys() -> Mapping[str, tuple[bytes, ...]]:
    """Return the key of one well-known word by one protocol: enough for the cases."""
    return {"sha1": (password_to_key(b"password", "sha1"),)}


def judge_all(
    card: Settings, parameters: Mapping[str, Any], *, in_work_tree: bool | None = False
) -> dict[str, RuleResult]:
    """Judge a card, as it is read from a record, by every shipped rule."""
    context = Context(AS_OF, well_known_words(), word_keys=word_keys(), in_work_tree=in_work_tree)
    used = program(parameters)
    card = read_record(orjson.dumps(card), "case.json").settings
    return {r.rule.id: r for r in all_results(used, judge_card(used, card, context).unusual)}


def failing(results: Mapping[str, RuleResult]) -> set[str]:
    """Return the rules that fail."""
    return {name for name, result in results.items() if result.outcome is Outcome.FAIL}


def pointers_of(result: RuleResult) -> set[str]:
    """Return the pointers of a result's evidence."""
    return {seen.where for departure in result.departures for seen in departure.seen}
