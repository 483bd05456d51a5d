"""A file of deviations is read, or every fault of it is told with its line and what to do."""

from datetime import date
from functools import cache
from importlib.resources import files
from pathlib import Path

import jsonschema
import orjson
import pytest

from auditor.change.deviation_file import read_deviations
from auditor.change.site_deviations import load_deviations
from auditor.errors import RulesetError
from auditor.fleet.choices import load_program
from auditor.rules.program import Program
from auditor.scoring.deviation import DeviationSet

GOOD = """
[[deviation]]
rule = "telnet-enabled"
cards = ["north-*", "south-ups-01"]
member = "monitoring"
owner = "N. Adeyemi"
reason = "The old logger speaks nothing else."
approved = 2026-09-01
expires = "2027-03-31"
ticket = "CHG-2207"
"""


@cache
def program() -> Program:
    """Return the shipped rules."""
    return load_program()


def read(text: str) -> DeviationSet:
    """Read a text as a file of deviations."""
    return read_deviations(text.encode(), "deviations.toml", program())


def faults(text: str) -> list[tuple[int, str, str, str]]:
    """Return line, pointer, problem and remedy of each fault of a text."""
    with pytest.raises(RulesetError) as caught:
        read(text)
    return [(fault.line, fault.pointer, fault.problem, fault.remedy) for fault in caught.value.faults]


def test_every_member_is_read() -> None:
    """Days may be written as TOML has them, or as text; both become days."""
    (found,) = read(GOOD).deviations
    assert (found.rule, found.cards, found.member) == (
        "telnet-enabled",
        ("north-*", "south-ups-01"),
        "monitoring",
    )
    assert (found.approved, found.expires) == (date(2026, 9, 1), date(2027, 3, 31))
    assert (found.owner, found.ticket, found.line) == ("N. Adeyemi", "CHG-2207", 2)


def test_no_deviation_is_a_file_too() -> None:
    """The first deviation is not yet written, the last one is taken out: both leave an empty file."""
    assert read("").deviations == ()


@pytest.mark.parametrize("member", ["rule", "cards", "reason", "approved", "expires"])
def test_a_member_that_must_be_there_is_asked_for(member: str) -> None:
    """Its absence is a fault at its deviation; owner and ticket may be absent."""
    lines = [line for line in GOOD.splitlines() if not line.startswith(f"{member} ")]
    ((line, pointer, *_),) = faults("\n".join(lines))
    assert (line, pointer) == (2, f"/deviation/0/{member}")


def test_an_owner_and_a_ticket_may_be_absent() -> None:
    """Without an owner it is read all the same: that it covers nothing is a finding, no fault."""
    lines = [line for line in GOOD.splitlines() if not line.startswith(("owner ", "ticket "))]
    (found,) = read("\n".join(lines)).deviations
    assert (found.owner, found.ticket) == ("", "")


def test_a_rule_that_is_not_there_is_refused_with_the_nearest() -> None:
    """A misspelled rule would cover nothing, unseen."""
    ((line, pointer, problem, remedy),) = faults(GOOD.replace("telnet-enabled", "telnet-enable"))
    assert (line, pointer, problem) == (3, "/deviation/0/rule", "no rule telnet-enable")
    assert remedy == "Did you mean telnet-enabled?"


@pytest.mark.parametrize(
    ("written", "remedy"),
    [
        ("31.3.2027", "Write a day as YYYY-MM-DD, for example 2027-03-31."),
        ("2027-02-30", "There is no such day or time: correct it."),
    ],
)
def test_a_day_in_another_form_is_told_the_form(written: str, remedy: str) -> None:
    """Who writes days the usual way of the country is not told that the day does not exist."""
    ((line, pointer, _, said),) = faults(GOOD.replace("2027-03-31", written))
    assert (line, pointer, said) == (9, "/deviation/0/expires", remedy)


def test_days_that_can_not_be_are_refused() -> None:
    """A deviation ends after its approval."""
    ((line, pointer, found, _),) = faults(GOOD.replace('"2027-03-31"', "2026-08-31"))
    said = "expires on 2026-08-31, before it was approved on 2026-09-01"
    assert (line, pointer, found) == (9, "/deviation/0/expires", said)


@pytest.mark.parametrize(
    ("expires", "too_many"), [("2027-09-01", 0), ("2027-09-02", 1), ("2030-09-01", 1096)]
)
def test_the_limit_of_the_site_counts_from_approval(expires: str, too_many: int) -> None:
    """365 days unless the site says otherwise: the last day is allowed; beyond, the days are counted."""
    (found,) = read(GOOD.replace('"2027-03-31"', expires)).deviations
    assert found.days_too_many == too_many


@pytest.mark.parametrize("day", ['"2027-02-30"', '"31.3.2027"', '"0000-01-01"', "2027-03-31T00:00:00Z", "5"])
def test_what_is_no_day_is_refused(day: str) -> None:
    """A moment, a day that does not exist and another spelling are told apart from a day."""
    ((line, pointer, *_),) = faults(GOOD.replace('"2027-03-31"', day))
    assert (line, pointer) == (9, "/deviation/0/expires")


def test_all_faults_are_told_together_in_file_order() -> None:
    """The file is mended once, not once a fault."""
    second = GOOD.replace("telnet-enabled", "no-such-rule")
    third = GOOD.replace('cards = ["north-*", "south-ups-01"]', "cards = []")
    found = faults(GOOD.replace('"2027-03-31"', "2026-01-01") + second + third)
    assert [pointer for _, pointer, *_ in found] == [
        "/deviation/0/expires",
        "/deviation/1/rule",
        "/deviation/2/cards",
    ]
    assert [line for line, *_ in found] == sorted(line for line, *_ in found)


def test_a_member_that_is_not_known_is_refused() -> None:
    """A misspelled member would be lost in silence."""
    ((_, pointer, problem, remedy),) = faults(GOOD.replace("ticket", "tickett"))
    assert pointer == "/deviation/0/tickett"
    assert "no such member" in problem
    assert "ticket" in remedy


def test_what_is_no_toml_is_refused_with_its_line() -> None:
    """The parser's own fault has a line too."""
    assert faults("[[deviation]]\nrule = ")[0][0] == 2


def test_the_schema_is_a_schema() -> None:
    """It holds to JSON Schema 2020-12."""
    text = files("auditor.change").joinpath("deviations-1.schema.json").read_bytes()
    jsonschema.Draft202012Validator.check_schema(orjson.loads(text))


def test_the_site_names_its_file_and_its_limit(tmp_path: Path) -> None:
    """The path is relative to the site's file; what is asked for outright goes before it."""
    (tmp_path / "ours").mkdir()
    (tmp_path / "ours/deviations.toml").write_text(GOOD, "utf-8")
    site = tmp_path / "witnessmark.toml"
    site.write_text('[site]\ndeviations = "ours/deviations.toml"\ndeviation_days_maximum = 211\n', "utf-8")
    of_site = load_program(site=str(site))
    found = load_deviations(None, of_site)
    assert found is not None
    assert found.deviations[0].rule == "telnet-enabled"
    other = tmp_path / "other.toml"
    other.write_text("", "utf-8")
    asked = load_deviations(str(other), of_site)
    assert asked is not None
    assert asked.deviations == ()
    site.write_text(site.read_text("utf-8").replace("211", "210"), "utf-8")
    shorter = load_deviations(None, load_program(site=str(site)))
    assert shorter is not None
    assert (found.deviations[0].days_too_many, shorter.deviations[0].days_too_many) == (0, 1)


def test_without_a_file_there_are_no_deviations() -> None:
    """Nothing is looked for that nobody named."""
    assert load_deviations(None, program()) is None


def test_a_file_that_can_not_be_read_is_told(tmp_path: Path) -> None:
    """The path is repeated, and what to do."""
    with pytest.raises(RulesetError, match="can't be read: no such file"):
        load_deviations(str(tmp_path / "absent.toml"), program())
