"""The demo estate against its hand-written ledger: nothing missed, nothing extra."""

import io
import tomllib
from collections.abc import Mapping
from functools import cache
from operator import itemgetter
from typing import Any

import pytest
from typer.testing import CliRunner

from auditor import Audited, CardAssessment, audit, load_program
from auditor.cli.main import app
from auditor.facts.fact import Context, Settings
from auditor.facts.reach.way import Origin, Place
from auditor.facts.reach.ways import easiest_switching, ways
from auditor.facts.words import well_known_words
from auditor.intake.records import read_records
from auditor.record.reading import Record
from tests.rules.matrix import ROOT

ESTATE = ROOT / "fixtures/estate"
SITE = ESTATE / "witnessmark.toml"
LEDGER: Mapping[str, Any] = tomllib.loads((ROOT / "fixtures/ledger.toml").read_text("utf-8"))
CARDS: list[Mapping[str, Any]] = LEDGER["card"]


@cache
def audited() -> Audited:
    """Audit the estate once, as the site does, at the moment that the ledger names."""
    return audit([str(ESTATE)], load_program(site=str(SITE)), as_of=LEDGER["as_of"])


def assessment_of(card: str) -> CardAssessment:
    """Return what the audit says of a card."""
    return next(assessment for assessment in audited().cards if assessment.card.id == card)


def test_the_ledger_names_every_usable_card_once() -> None:
    """No card of the estate escapes the ledger, and the ledger invents none."""
    ids = [card["id"] for card in CARDS]
    assert len(ids) == len(set(ids))
    assert set(ids) == {assessment.card.id for assessment in audited().cards}


def test_the_estate_has_three_sites_and_24_cards() -> None:
    """The estate is as large as it says, the record that can't be used counted in."""
    assert len(audited().cards) + len(audited().errors) == 24
    assert len(audited().summary.groups["site"]) == 3


@pytest.mark.parametrize("card", CARDS, ids=itemgetter("id"))
def test_the_audit_finds_exactly_what_was_planted(card: Mapping[str, Any]) -> None:
    """Each planted defect gives its finding at its place; no other finding is there."""
    planted = {(row["rule"], row["at"]) for row in card["findings"]}
    found = {(finding.rule.id, finding.pointer) for finding in assessment_of(card["id"]).findings}
    missed, extra = planted - found, found - planted
    assert (missed, extra) == (set(), set())


@pytest.mark.parametrize("card", CARDS, ids=itemgetter("id"))
def test_no_finding_is_said_or_planted_twice(card: Mapping[str, Any]) -> None:
    """A rule and a place stand for one finding only, in the ledger and in the audit."""
    planted = [(row["rule"], row["at"]) for row in card["findings"]]
    assert len(planted) == len(set(planted)) == len(assessment_of(card["id"]).findings)


@pytest.mark.parametrize("card", CARDS, ids=itemgetter("id"))
def test_as_much_stays_undecided_as_the_ledger_says(card: Mapping[str, Any]) -> None:
    """What can't be told from a record is counted: it neither grows nor turns into passes unseen."""
    assert len(assessment_of(card["id"]).missing) == card["undecided"]


@pytest.mark.parametrize("card", CARDS, ids=itemgetter("id"))
def test_every_planted_defect_has_its_reason(card: Mapping[str, Any]) -> None:
    """The ledger was reasoned, not copied: each row says what is wrong with this card."""
    assert card["story"]
    assert [row for row in card["findings"] if not row["because"]] == []


def test_the_cards_share_exactly_what_the_ledger_says() -> None:
    """Every secret that two cards have in common is found, with all of its cards; no other is."""
    planted = {(row["kind"], row["form"], tuple(sorted(row["cards"]))) for row in LEDGER["shared"]}
    shared = audited().summary.shared
    assert {(one.kind, one.form, tuple(sorted(one.card_ids))) for one in shared} == planted
    assert len(shared) == len(LEDGER["shared"])


def test_the_malformed_record_gives_one_error_with_all_its_faults() -> None:
    """Faults of JSON and of the schema are told together, in file order, each with its line and remedy."""
    (planted,) = LEDGER["unusable"]
    (error,) = audited().errors
    assert [fault.pointer for fault in error.faults] == [row["at"] for row in planted["faults"]]
    assert all(fault.file.endswith(planted["file"]) for fault in error.faults)
    assert all(fault.line and fault.column and fault.problem and fault.remedy for fault in error.faults)


def test_the_estate_ends_with_exit_code_2_after_all_others_were_audited() -> None:
    """The command audits the 23 usable cards, tells the malformed one, and only then says 2."""
    moment = LEDGER["as_of"].isoformat()
    arguments = ["audit", str(ESTATE), "--site", str(SITE), "--as-of", moment, "--format", "ndjson"]
    result = CliRunner().invoke(app, arguments)
    assert result.exit_code == 2
    assert "sds-ups-hall-3.json" in result.stderr
    assert all(f'"{card["id"]}"' in result.stdout for card in CARDS)


def test_every_family_of_rules_has_a_finding_in_the_estate() -> None:
    """The estate shows something of every family, so every part of a report has content."""
    families = {finding.rule.family for assessment in audited().cards for finding in assessment.findings}
    assert families == {rule.family for rule in load_program(site=str(SITE)).rules}


@pytest.mark.parametrize("card", CARDS, ids=itemgetter("id"))
def test_the_easiest_way_to_switch_the_load_off_is_the_one_that_was_reasoned(card: Mapping[str, Any]) -> None:
    """Channel, party, proof and origin agree with what was read from the record by hand."""
    context = Context(LEDGER["as_of"], well_known_words())
    way = easiest_switching(ways(settings_of(card["id"]), context))
    told = {} if way is None else {"channel": way.channel, "party": way.party, "proof": way.proof}
    reasoned = dict(card["easiest"])
    assert reasoned.pop("because")
    assert told | ({} if way is None else {"from": place_in_words(way.origin)}) == reasoned


def place_in_words(origin: Origin) -> str:
    """Return from where a way is open, as the ledger writes it."""
    if origin.place is Place.PRESENCE:
        return "at the card"
    return "any" if origin.any_address else ", ".join(origin.prefixes or ())


def settings_of(card: str) -> Settings:
    """Return the record of a card of the estate."""
    return next(record.settings for record in records() if record.settings["card"]["id"] == card)


@cache
def records() -> list[Record]:
    """Read the estate once, without the record that can't be used."""
    return [record for record in read_records([str(ESTATE)], io.BytesIO()) if isinstance(record, Record)]
