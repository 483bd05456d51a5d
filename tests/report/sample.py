"""Small assessments for the tests of reports: own rules, own cards, judged by the real engine.

Nothing here depends on the shipped rulesets, so a golden file changes only when a writer does.
"""

import io
import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import Any

import orjson

from auditor.errors import Fault
from auditor.facts.fact import Context, Fact, Settings, fact
from auditor.fleet.clock_sums import ClockSums
from auditor.fleet.estate import EstateSummary, EstateSums
from auditor.fleet.reach_sums import ReachSums
from auditor.record.reading import read_record
from auditor.report.reach_view import CardReach, reach_of
from auditor.report.writer import Look, Run, WriterMaker
from auditor.rules.crosswalk import Crosswalk
from auditor.rules.loading import load_ruleset
from auditor.rules.program import make_program
from auditor.rules.rule import Ruleset
from auditor.rules.tailoring import Tailoring, read_site_file, tailor
from auditor.scoring.accepted import Acceptance
from auditor.scoring.assessment import CardAssessment, assess
from auditor.scoring.band import Band
from auditor.scoring.deviation import Deviation, DeviationSet
from auditor.scoring.xccdf import Model

AS_OF = datetime(2026, 11, 25, 12, tzinfo=UTC)
GOLDEN = Path(__file__).parents[2] / "fixtures/golden"
HERE = Path(__file__).parent
SECRET = "h0rse-b4ttery"  # noqa: S105 - a marker: it must never be seen in a report
SITE = """
[site]
operator = "Example Power"
hold_at = "high"

[parameters]
session_timeout_maximum_s = 600

[deselect]
usb-open = "The racks are locked; the key book is with the guard."

[environment.lab]
CDP = "L"
AR = "L"
"""


@fact(reads=["/log/capacity_events", "/log/events_per_day"], source="arithmetic", unit="days")
def sample_log_days(record: Settings, _: Context) -> float | None:
    """Return the days that the local log covers."""
    log = record.get("log", {})
    if "capacity_events" not in log or "events_per_day" not in log:
        return None
    days: float = log["capacity_events"] / log["events_per_day"]
    return days


@fact(reads=["/time/poll_interval_s"], source="arithmetic")
def sample_polls_per_day(record: Settings, _: Context) -> float | None:
    """Return the polls of the time server a day; fails for an interval of 1 s, on purpose."""
    interval = record.get("time", {}).get("poll_interval_s")
    return None if interval is None else 86400 / (interval - 1)


FACTS: dict[str, Fact] = {each.name: each for each in (sample_log_days, sample_polls_per_day)}

CROSSWALKS = (
    Crosswalk(
        "sample-controls",
        "Sample catalogue of controls",
        "first",
        "invented for tests",
        {
            "AC-1": "Access is limited",
            "AU-1": "Events can be reviewed",
            "CM-1": "Least functions",
            "ZZ-9": "Not served",
        },
        {
            "telnet-enabled": ("CM-1", "AC-1"),
            "community-can-write": ("AC-1",),
            "session-timeout-too-long": ("AC-1",),
            "log-too-short": ("AU-1",),
            "clock-polls-never": ("AU-1",),
            "usb-open": ("CM-1",),
            "no-such-rule": ("ZZ-9",),
        },
    ),
)


@cache
def ruleset() -> Ruleset:
    """Load the small ruleset."""
    return load_ruleset((HERE / "sample.toml").read_bytes(), "sample.toml", FACTS)


def make_run(site: str = SITE, model: Model = Model.FLAT) -> Run:
    """Return a run of the small ruleset with a site's tailoring (empty text: none)."""
    chosen = Tailoring()
    if site:
        chosen = tailor(read_site_file(site.encode(), "witnessmark.toml"), [ruleset()], FACTS)
    return Run("9.9.9", AS_OF, make_program([ruleset()], chosen, FACTS), CROSSWALKS, model)


def good_card(card_id: str = "north-ups-01", site: str = "North") -> dict[str, Any]:
    """Return the settings of a card on which every small rule passes or does not apply."""
    return {
        "schema": "witnessmark/card-1",
        "card": {
            "id": card_id,
            "site": site,
            "name": "UPS A",
            "location": "Room 1",
            "hardware_family": "second generation",
            "firmware_version": "3.4.2",
            "contact": "power team",
        },
        "equipment": {"kind": "ups", "feeds": "critical"},
        "capture": {"taken_at": "2026-11-20T09:30:00+00:00"},
        "services": {"telnet": {"enabled": False}, "wifi": {"enabled": False}, "usb": {"enabled": False}},
        "snmp": {
            "communities": [
                {"name": "monitoring", "enabled": True, "access": "read", "community": {"clear": SECRET}}
            ]
        },
        "accounts": [{"name": "keeper", "enabled": True, "is_shared": False, "password": {"clear": SECRET}}],
        "access_policy": {"session_timeout_s": 600},
        "log": {"capacity_events": 500, "events_per_day": 10},
        "time": {"poll_interval_s": 3600},
    }


def poor_card() -> dict[str, Any]:
    """Return a card with several defects, one of them in a rule's own fact."""
    card = good_card("north-ups-02")
    card["services"]["wifi"] = {"enabled": True, "security": "wep"}
    card["snmp"]["communities"] += [
        {"name": "control", "enabled": True, "access": "write", "community": {"clear": SECRET}},
        {"name": "old", "enabled": False, "access": "write"},
    ]
    card["accounts"].append({"name": "night|shift", "enabled": True, "is_shared": True})
    card["access_policy"]["session_timeout_s"] = 86400
    card["time"]["poll_interval_s"] = 1
    return card


def worst_card() -> dict[str, Any]:
    """Return a card that feeds life-safety load and has telnet on."""
    card = good_card("south-pdu-01", "South")
    card["equipment"] = {"kind": "pdu", "feeds": "life_safety"}
    card["services"]["telnet"]["enabled"] = True
    card["log"]["events_per_day"] = 40
    return card


def reach_card() -> dict[str, Any]:
    """Return a card with ways of every kind: to switch, to change settings, to read, and unknown ones."""
    off = ("ftp", "tftp", "sftp", "scp", "ssh", "rest_api", "bacnet_ip", "mqtt", "bluetooth", "wifi", "https")
    card = good_card("north-ups-03")
    card["services"] = {
        **{name: {"enabled": False} for name in off},
        "telnet": {"enabled": True, "allowed_sources": {"any": True}},
        "http": {"enabled": True, "redirects_to_https": False, "allowed_sources": {"any": True}},
        "modbus_tcp": {"enabled": True, "tls": False, "allows_write": True,
                       "allowed_sources": {"prefixes": ["192.0.2.0/28"]}},
        "shutdown_agent": {"enabled": False},
        "remote_vendor_service": {"enabled": True},
        "serial_console": {"enabled": True, "requires_login": True},
        "usb": {"enabled": True, "allows": ["file_import"]},
    }  # fmt: skip
    card["network"] = {"allowed_sources": {"any": True}}
    card["snmp"] = {"enabled": True, "versions": ["v2c"], "users": [], "communities": [
        {"name": "old|one", "enabled": True, "access": "write", "view": "", "community": {"empty": True},
         "allowed_sources": {"any": True}},
    ]}  # fmt: skip
    card["accounts"] = [
        {"name": "keeper", "enabled": True, "role": "administrator", "password": {"clear": SECRET},
         "second_factor": False},
        {"name": "porter", "enabled": True, "role": "viewer", "password": {"clear": SECRET},
         "second_factor": False},
    ]  # fmt: skip
    card["directory"] = {"ldap": {"enabled": False}, "radius": {"enabled": False}}
    card["shutdown"] = {"remote_output_commands": {"enabled": True, "least_role": "operator"}}
    return card


def bare_card() -> dict[str, Any]:
    """Return a card of which hardly anything is known."""
    services = {"telnet": {"enabled": False}}
    return {"schema": "witnessmark/card-1", "card": {"id": "spare-7"}, "services": services}


FAULTS = (
    Fault("south/broken.json", "/card/id", 4, 11, "expected text; found a number", 'Write "17" in quotes.'),
    Fault("south/broken.json", "", 9, 0, "no member telnett", "Did you mean telnet?"),
)


def assess_cards(run: Run, cards: Iterable[Settings]) -> list[CardAssessment]:
    """Judge cards as if each stood on its own line of one file."""
    return [
        assess(read_record(orjson.dumps(card), "estate.ndjson", first_line=line), run.program, Context(AS_OF))
        for line, card in enumerate(cards, start=1)
    ]


def estate(run: Run) -> list[CardAssessment]:
    """Return the small estate: a good card, a poor one, the worst one, and one hardly known."""
    return assess_cards(run, [good_card(), poor_card(), worst_card(), bare_card()])


DEVIATIONS = DeviationSet(
    "deviations.toml",
    "ab" * 32,
    (
        Deviation(
            "telnet-enabled", ("south-*",), "", "N. Adeyemi, power", "The old logger | speaks nothing else.",
            date(2026, 9, 1), date(2027, 3, 31), "CHG-2207", "deviations.toml", 1,
        ),
        Deviation(
            "community-can-write", ("north-ups-02",), "control", "S. Kaur", "Ends with the new manager.",
            date(2026, 9, 1), date(2026, 12, 31), "", "deviations.toml", 10,
        ),
        Deviation(
            "session-timeout-too-long", ("*",), "", "", "Nobody signed this.",
            date(2026, 9, 1), date(2027, 3, 31), "", "deviations.toml", 18,
        ),
        Deviation(
            "log-too-short", ("*",), "", "S. Kaur", "Larger memory is ordered.",
            date(2026, 1, 1), date(2026, 10, 31), "CHG-1999", "deviations.toml", 26,
        ),
        Deviation(
            "wifi-on", ("north-ups-01",), "", "S. Kaur", "Left over.",
            date(2026, 9, 1), date(2026, 12, 31), "", "deviations.toml", 34,
        ),
    ),
)  # fmt: skip


def reach_in(assessment: CardAssessment) -> CardReach:
    """Return the ways in to a card that was just judged."""
    reach = reach_of(assessment)
    assert reach is not None
    return reach


def sum_up(
    run: Run, assessments: Iterable[CardAssessment], faults: Sequence[Fault] = FAULTS,
    acceptance: Acceptance | None = None,
) -> EstateSummary:  # fmt: skip
    """Return the sums over assessments and, if there are faults, one unusable record."""
    sums = EstateSums(run.program, Band.HIGH, reach=ReachSums(), clocks=ClockSums())
    for assessment in assessments:
        sums.add(assessment)
    if faults:
        sums.add_unusable(faults)
    return sums.summary(acceptance=acceptance)


def render(
    make: WriterMaker, run: Run, assessments: Sequence[CardAssessment], *,
    faults: Sequence[Fault] = FAULTS, look: Look | None = None,
) -> bytes:  # fmt: skip
    """Return what a writer writes of assessments."""
    stream = io.BytesIO()
    writer = make(run, stream, look or Look())
    acceptance = Acceptance(run.deviations, run.as_of) if run.deviations else None
    cards = [acceptance.mark(each) for each in assessments] if acceptance else assessments
    for assessment in cards:
        writer.add(assessment)
    writer.finish(sum_up(run, cards, faults, acceptance))
    return stream.getvalue()


def render_estate(make: WriterMaker, look: Look | None = None) -> bytes:
    """Return what a writer writes of the small estate."""
    run = make_run()
    return render(make, run, estate(run), look=look)


def render_accepted(make: WriterMaker, look: Look | None = None) -> bytes:
    """Return what a writer writes of the small estate under deviations."""
    run = replace(make_run(), deviations=DEVIATIONS)
    return render(make, run, estate(run), look=look)


def golden(name: str, text: bytes) -> bytes:
    """Return the golden file of that name, renewed first only where GOLDEN_RENEW=1 asks for it."""
    path = GOLDEN / name
    if os.environ.get("GOLDEN_RENEW") == "1":
        path.write_bytes(text)
    return path.read_bytes()


def without_style(text: bytes) -> bytes:
    """Return a page without its style and the digest of that: other pages share the style."""
    bare = re.sub(rb"<style>.*?</style>", b"<style></style>", text, flags=re.DOTALL)
    return re.sub(rb"sha256-[A-Za-z0-9+/=]+", b"sha256-", bare)
