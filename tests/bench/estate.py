"""A large invented estate: varied records, every section, lists of 0 to 20, defects in a third.

Defects are the single changes of the rule matrix, so that each is one that a rule knows.
"""

import copy
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import orjson

from auditor.record.pointer import split
from tests.rules.matrix import ROOT, Case, card_of, read_cases

SITES = ("North", "South", "Harbour", "Upland")
FEEDS = ("life_safety", "critical", "critical", "production", "production", "office", "lab")
WORDS = ("amber", "basalt", "cinder", "dapple", "ember", "fathom", "gable", "hollow", "isthmus", "jasper")


def generate(count: int, seed: int = 1) -> Iterator[bytes]:
    """Yield records, one JSON text each, the same for the same seed."""
    dice = random.Random(seed)  # noqa: S311 - made-up data
    base = orjson.loads((ROOT / "fixtures/cards/compliant.json").read_bytes())
    defects = [case for case in read_cases() if case.newly_fails and not case.parameters]
    for number in range(count):
        card = copy.deepcopy(base)
        _identify(card, number, dice)
        _resize(card, dice)
        if dice.random() < 1 / 3:
            for case in dice.sample(defects, dice.randint(1, 6)):
                _damage(card, case)
        _forget(card, dice)
        yield orjson.dumps(card)


def write_estate(path: Path, count: int) -> None:
    """Write an estate as one record a line."""
    with path.open("wb") as stream:
        for line in generate(count):
            stream.write(line + b"\n")


def _identify(card: dict[str, Any], number: int, dice: random.Random) -> None:
    site = dice.choice(SITES)
    card["card"].update(
        id=f"{site.lower()}-{number:06d}", site=site, name=f"UPS {number}", serial_number=f"WM-{number:06d}"
    )
    card["equipment"]["feeds"] = dice.choice(FEEDS)
    card["network"]["hostname"] = card["card"]["id"]
    name = f"{card['card']['id']}.power.example.org"
    card["tls"]["certificate"]["subject_names"] = [name, "10.20.30.11"]


def _resize(card: dict[str, Any], dice: random.Random) -> None:
    """Give lists other lengths, mostly short, up to 20."""
    for pointer, floor in (
        ("/accounts", 4), ("/mail/recipients", 1), ("/snmp/receivers", 1), ("/snmp/users", 0),
        ("/snmp/communities", 0), ("/shutdown/agents", 0), ("/shutdown/sequences", 0),
        ("/log/collectors", 1), ("/probe/contacts", 0), ("/probe/sensors", 0), ("/unmapped", 0),
    ):  # fmt: skip
        section, _, name = pointer[1:].rpartition("/")
        holder = card[section] if section else card
        members = holder[name]
        length = max(floor, min(20, int(dice.expovariate(1 / 3))))
        if members and name != "unmapped":
            holder[name] = [_varied(members[place % len(members)], place, dice) for place in range(length)]


def _varied(member: dict[str, Any], place: int, dice: random.Random) -> dict[str, Any]:
    """Return a member with a name of its own and secrets of its own."""
    varied = copy.deepcopy(member)
    for key in ("name", "host", "address"):
        if key in varied and place:
            varied[key] = f"{varied[key].partition('@')[0]}-{place}" + (
                "@example.org" if "@" in varied[key] else ""
            )
    for value in varied.values():
        if isinstance(value, dict) and "clear" in value:
            value["clear"] = "-".join(dice.choices(WORDS, k=3)) + f"-{dice.randrange(10**6):06d}"
    if varied.get("role") == "administrator" and place:
        varied["role"] = "operator"
    return varied


def _damage(card: dict[str, Any], case: Case) -> None:
    changed = card_of(case)
    for change in [entry["at"] for entry in case.set] + list(case.remove):
        section = split(change)[0]
        if section != "card":
            card[section] = changed.get(section, card.get(section))


def _forget(card: dict[str, Any], dice: random.Random) -> None:
    """Drop a few settings, as captures do."""
    for section in dice.sample(sorted(set(card) - {"schema", "card", "accounts", "unmapped"}), 2):
        names = sorted(card[section])
        if names and dice.random() < 1 / 4:
            del card[section][dice.choice(names)]
