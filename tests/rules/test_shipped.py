"""The shipped rulesets as a whole: nothing is named that is not there, and nothing lies idle."""

import re
from collections.abc import Iterator
from itertools import chain
from operator import attrgetter
from pathlib import Path
from typing import Final

import pytest

from auditor.facts.catalogue import FACTS
from auditor.rules.condition import Leaf, Subject, leaves
from auditor.rules.rule import Rule
from tests.rules.matrix import ROOT, rulesets

RULES = [rule for ruleset in rulesets() for rule in ruleset.rules]
PARAMETERS = [(ruleset.name, name) for ruleset in rulesets() for name in ruleset.parameters]
ADMINISTRATOR: Final = "C:C/I:C/A:C"
FILES = sorted((ROOT / "rulesets").rglob("*.toml"))
FACT_SOURCES = "\n".join(path.read_text("utf-8") for path in (ROOT / "auditor/facts").rglob("*.py"))

# Common practice, no source: endings and words that British spelling writes otherwise. Titles
# of American standards keep their own spelling: they stand in the crosswalks, which are left out.
AMERICAN = re.compile(
    r"\b\w*(?:colo|behavi|neighbo|favo|hono|labo)r(?:s|ed|ing|ite)?\b|\b\w+(?:yze|yzed|yzing)\b"
    r"|\b(?:authori|organi|recogni|synchroni|initiali|summari|minimi)z\w*\b"
    r"|\b(?:center|meter|liter|fiber)s?\b|\b(?:catalog|dialog|defense|offense|license|gray|labeled|canceled)\b"
)


def leaves_of(rule: Rule) -> Iterator[Leaf]:
    """Yield the comparisons of a rule."""
    yield from chain.from_iterable(leaves(part) for part in (rule.applies_when, rule.require) if part)


def test_no_rule_id_stands_twice() -> None:
    """A finding is told by its rule id, so one id is one rule in all rulesets together."""
    ids = [rule.id for rule in RULES]
    assert sorted(set(ids)) == sorted(ids)


def test_no_parameter_stands_twice() -> None:
    """A site sets a parameter by its name alone."""
    names = [name for _, name in PARAMETERS]
    assert sorted(set(names)) == sorted(names)


@pytest.mark.parametrize("rule", RULES, ids=attrgetter("id"))
def test_mends_come_after_mends_that_exist(rule: Rule) -> None:
    """The order of a visit names shipped rules, not the rule itself, and each once."""
    assert rule.visit is not None
    assert set(rule.visit.after) <= {other.id for other in RULES} - {rule.id}
    assert len(set(rule.visit.after)) == len(rule.visit.after)


def test_the_order_of_mends_has_no_circle() -> None:
    """Taking off, again and again, what waits for nothing leaves nothing: a procedure can be made."""
    waits = {rule.id: set(rule.visit.after) if rule.visit else set() for rule in RULES}
    for _ in RULES:
        free = {rule for rule, others in waits.items() if not others & waits.keys()}
        waits = {rule: others for rule, others in waits.items() if rule not in free}
    assert waits == {}


@pytest.mark.parametrize("name", [name for _, name in PARAMETERS])
def test_every_parameter_is_used_by_a_rule(name: str) -> None:
    """A parameter that no rule asks for would let a site believe that it had changed something."""
    used = {
        leaf.name if leaf.subject is Subject.PARAMETER else leaf.parameter
        for rule in RULES
        for leaf in leaves_of(rule)
    }
    assert name in used


@pytest.mark.parametrize(
    ("name", "unit"), [(name, p.unit) for r in rulesets() for name, p in r.parameters.items() if p.unit]
)
def test_a_parameter_with_a_unit_names_it(name: str, unit: str) -> None:
    """The unit is a word of the name, so that nobody who sets the number has to look it up."""
    short = {"°C": "c", "%": "percent"}.get(unit, unit)
    assert short in name.split("_")


@pytest.mark.parametrize("name", FACTS)
def test_every_fact_is_used(name: str) -> None:
    """A fact serves a rule, or another fact computes with it."""
    by_rules = {leaf.name for rule in RULES for leaf in leaves_of(rule) if leaf.subject is Subject.FACT}
    assert name in by_rules or f"{name}.compute(" in FACT_SOURCES


@pytest.mark.parametrize("path", FILES, ids=attrgetter("stem"))
def test_no_ruleset_names_a_file_of_another(path: Path) -> None:
    """Rulesets are chosen one by one: a text that points into another file may point at nothing."""
    text = path.read_text("utf-8")
    named = [other.name for other in FILES if other != path and other.name in text]
    assert named == []


@pytest.mark.parametrize("rule", RULES, ids=attrgetter("id"))
def test_texts_are_in_british_spelling(rule: Rule) -> None:
    """No text of a rule holds a common American spelling."""
    texts = (rule.title, rule.vector_because, rule.why, rule.mend.text, rule.verify)
    assert [found for text in texts for found in AMERICAN.findall(text.lower())] == []


HEARD: Final = {
    "telnet-enabled": ADMINISTRATOR,
    "http-without-https": ADMINISTRATOR,
    "ftp-in-clear": ADMINISTRATOR,
    "ldap-in-clear": ADMINISTRATOR,
    "radius-secret-empty": ADMINISTRATOR,
    "radius-secret-well-known": ADMINISTRATOR,
    "rest-api-in-clear": "C:P/I:P/A:P",
    "snmp-cleartext-version-enabled": "C:P/I:P/A:P",
    "shutdown-listener-in-clear": "C:P/I:P/A:C",
    "outputs-heard-from-anywhere": "C:P/I:P/A:C",
    "mqtt-in-clear": "C:P/I:P/A:N",
    "log-collector-in-clear": "C:P/I:P/A:N",
    "mail-in-clear": "C:P/I:P/A:N",
    "snmp-receiver-in-clear": "C:P/I:P/A:N",
    "snmp-receiver-below-auth-priv": "C:P/I:N/A:N",
    "snmp-user-no-privacy": "C:P/I:N/A:N",
    "snmp-privacy-passphrase-empty": "C:P/I:N/A:N",
}
"""What somebody who listens on the way gains: the convention at the head of the baseline."""

HARDER: Final = {
    "http-without-redirect": "a typed address without https",
    "radius-secret-short": "guessing at home",
    "radius-secret-guessable": "guessing at home",
    "radius-pap-in-clear": "the shared secret besides",
    "radius-message-authenticator-not-required": "playing the server",
    "ldap-certificate-unverified": "playing the directory",
}
"""What makes an administrator too, but takes more than listening."""


@pytest.mark.parametrize("name", HEARD)
def test_clear_text_that_can_be_heard_is_scored_alike(name: str) -> None:
    """One threat, one way: the same access for every protocol, and impact by what is heard."""
    (rule,) = (rule for rule in RULES if rule.id == name)
    assert rule.vector == f"AV:N/AC:M/Au:N/{HEARD[name]}"


@pytest.mark.parametrize("name", HARDER)
def test_what_makes_an_administrator_with_more_effort_differs_in_effort_only(name: str) -> None:
    """Access complexity is high; the impact is that of every other way to become administrator."""
    (rule,) = (rule for rule in RULES if rule.id == name)
    assert rule.vector == f"AV:N/AC:H/Au:N/{ADMINISTRATOR}"


def test_no_rule_about_listening_escapes_the_convention() -> None:
    """A reason that speaks of listening belongs to a rule of the tables."""
    listening = re.compile(r"\b(?:listens?|hears?|readable)\b")
    found = {rule.id for rule in RULES if listening.search(rule.vector_because)}
    assert found <= HEARD.keys() | HARDER.keys()


@pytest.mark.parametrize("rule", RULES, ids=attrgetter("id"))
def test_every_rule_names_a_source_or_says_that_there_is_none(rule: Rule) -> None:
    """Each rule rests on a named document, or says that it is practice or the site's choice."""
    assert rule.sources
    assert all(re.search(r"\d|no source|IANA|ASHRAE|the site|definition", source) for source in rule.sources)
