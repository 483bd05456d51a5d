"""The SARIF log: of the published schema, with the place of the very setting, known again by fingerprint."""

import json
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any, Final

import jsonschema
import orjson
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.facts.fact import Context
from auditor.record.pointer import split, value_at
from auditor.record.reading import read_record
from auditor.report.sarif import make_sarif
from auditor.report.sarif_place import file_uri
from auditor.report.sarif_result import FINGERPRINT
from auditor.scoring.assessment import CardAssessment, assess
from auditor.scoring.locating import locate
from tests.report.sample import (
    AS_OF,
    DEVIATIONS,
    SECRET,
    bare_card,
    golden,
    good_card,
    make_run,
    poor_card,
    render,
    worst_card,
)

ROOT: Final = Path(__file__).parents[2]
PUBLISHED: Final = ROOT.parent / "shared/standards/schemas/sarif-2.1.0.json"
RUN: Final = make_run()
ACCEPTED: Final = replace(RUN, deviations=DEVIATIONS)


def located(text: bytes, file: str = "estate.ndjson", line: int = 1) -> CardAssessment:
    """Audit one record and look up its places."""
    record = read_record(text, file, first_line=line)
    return locate(record, assess(record, RUN.program, Context(AS_OF)))


def small_estate() -> list[CardAssessment]:
    """Return the small estate, a record a line, located."""
    cards = [good_card(), poor_card(), worst_card(), bare_card()]
    return [located(orjson.dumps(card), line=line) for line, card in enumerate(cards, start=1)]


def log_of(cards: list[CardAssessment], run: Any = RUN) -> dict[str, Any]:
    """Return the log of some cards as data."""
    log: dict[str, Any] = orjson.loads(render(make_sarif, run, cards))
    return log


@cache
def _accepted_log() -> dict[str, Any]:
    return log_of(small_estate(), ACCEPTED)


def results(log: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the results of a log."""
    found: list[dict[str, Any]] = log["runs"][0]["results"]
    return found


def test_the_log_is_exactly_the_golden_one() -> None:
    """Every word of the small estate's log is held, with deviations and a record that can't be used."""
    text = render(make_sarif, ACCEPTED, small_estate())
    assert text == golden("report.sarif", text)


def test_the_log_validates_against_the_published_schema() -> None:
    """Source: JSON Schema of SARIF 2.1.0 (OASIS), where a copy lies beside the repository."""
    if not PUBLISHED.exists():
        pytest.skip(f"the published schema does not lie at {PUBLISHED.relative_to(ROOT.parent)}")
    schema = json.loads(PUBLISHED.read_text("utf-8"))
    validator = jsonschema.Draft4Validator(schema, format_checker=jsonschema.FormatChecker())
    for log in (_accepted_log(), log_of(small_estate()), log_of([])):
        assert [f"{error.json_path}: {error.message}" for error in validator.iter_errors(log)] == []


def test_the_log_has_the_structure_that_the_standard_asks_for() -> None:
    """Our own check of sections 3.13, 3.14, 3.19, 3.27 and 3.30: it needs no copy of the schema."""
    log = _accepted_log()
    (run,) = log["runs"]
    assert (log["version"], run["columnKind"]) == ("2.1.0", "unicodeCodePoints")
    rules = {rule["id"]: rule for rule in run["tool"]["driver"]["rules"]}
    assert len(rules) == len(run["tool"]["driver"]["rules"])
    for result in results(log):
        assert result["ruleId"] in rules
        assert result["level"] in {"error", "warning", "note"}
        assert result["message"]["text"]
        assert "suppressions" in result
        for place in result["locations"]:
            region = place["physicalLocation"].get("region", {"startLine": 1})
            assert min(region.values()) >= 1
            assert (region.get("endLine", 1 << 30), region.get("endColumn", 1 << 30)) > (
                region["startLine"],
                region.get("startColumn", 0),
            )


def test_rules_carry_what_a_forge_sorts_by() -> None:
    """Help, severity from 0.0 to 10.0 as text, tags without doubles: family, ruleset and controls."""
    rules = {rule["id"]: rule for rule in _accepted_log()["runs"][0]["tool"]["driver"]["rules"]}
    telnet = rules["telnet-enabled"]
    assert telnet["properties"]["security-severity"] == "10.0"
    assert {"sample", "sample-controls:CM-1", "sample-controls:AC-1"} <= set(telnet["properties"]["tags"])
    assert telnet["help"]["text"].startswith("Why: ")
    assert all(
        len(set(each["properties"]["tags"])) == len(each["properties"]["tags"]) for each in rules.values()
    )
    assert all(0 <= float(each["properties"]["security-severity"]) <= 10 for each in rules.values())


def cut(text: str, region: dict[str, int]) -> str:
    """Return what stands in a region of a text, lines and columns from 1, the end exclusive."""
    lines = text.split("\n")[region["startLine"] - 1 : region["endLine"]]
    lines[-1] = lines[-1][: region["endColumn"] - 1]
    lines[0] = lines[0][region["startColumn"] - 1 :]
    return "\n".join(lines)


def _named(result: dict[str, Any]) -> Iterator[tuple[str, dict[str, int]]]:
    for place in (*result["locations"], *result.get("relatedLocations", ())):
        (name,) = place["logicalLocations"]
        yield name["fullyQualifiedName"].partition("#")[2], place["physicalLocation"]["region"]


@pytest.mark.parametrize("indent", [None, 2])
@pytest.mark.parametrize("make", [poor_card, worst_card, bare_card])
def test_a_region_is_exactly_the_value_of_its_setting(make: Any, indent: int | None) -> None:
    """The file is read again at the place: it gives the value that the pointer gives.

    Where the setting is absent, the place is the bracket of what is around it.
    """
    card = {"site_notes": "Ä 𝄞 before everything", **make()}
    text = json.dumps(card, ensure_ascii=False, indent=indent)
    found = results(log_of([located(text.encode(), "card.json")]))
    seen = [(pointer, cut(text, region)) for result in found for pointer, region in _named(result)]
    assert seen
    for pointer, shown in seen:
        value = value_at(card, split(pointer))
        assert shown in "{[" if value is None else json.loads(shown) == value


def test_lines_count_from_the_beginning_of_the_file() -> None:
    """The third record of a file of lines has its results on line three."""
    found = results(log_of([located(orjson.dumps(worst_card()), line=3)]))
    lines = {region["startLine"] for result in found for _, region in _named(result)}
    assert lines == {3}


def test_a_record_that_was_made_has_no_place_in_its_source() -> None:
    """Lines of the record that an import made are none of the export: the file alone is named."""
    record = replace(read_record(orjson.dumps(worst_card()), "export.xml"), is_made=True)
    card = locate(record, assess(record, RUN.program, Context(AS_OF)))
    places = [place for result in results(log_of([card])) for place in result["locations"]]
    assert {json.dumps(place["physicalLocation"]) for place in places} == {
        '{"artifactLocation": {"uri": "export.xml"}}'
    }


def _fingerprints(card: CardAssessment) -> dict[str, tuple[str, str]]:
    return {
        result["partialFingerprints"][FINGERPRINT]: (
            result["ruleId"],
            result["message"]["text"].partition(":")[0],
        )
        for result in results(log_of([card]))
        if "partialFingerprints" in result
    }


@settings(max_examples=25)
@given(st.randoms(use_true_random=False), st.sampled_from([None, 1, 4, "\t"]))
def test_fingerprints_survive_reformatting_and_reordering(random: Any, indent: Any) -> None:
    """Members of objects and of lists in any order, any indent: each finding keeps its fingerprint."""
    before = poor_card()
    names = list(before)
    random.shuffle(names)
    after = {name: before[name] for name in names}
    for members in (after["snmp"]["communities"], after["accounts"]):
        random.shuffle(members)
    text = json.dumps(after, indent=indent).encode()
    assert _fingerprints(located(text)) == _fingerprints(located(orjson.dumps(poor_card())))


def test_a_fingerprint_is_that_of_one_finding_alone() -> None:
    """Two findings never share one, on one card or on two with the same settings."""
    first, second = poor_card(), poor_card()
    second["card"]["id"] = "other"
    cards = [located(orjson.dumps(first)), located(orjson.dumps(second))]
    assert not set(_fingerprints(cards[0])) & set(_fingerprints(cards[1]))
    assert len(_fingerprints(cards[0])) == len(cards[0].findings)


def test_an_accepted_finding_is_suppressed_with_its_reason() -> None:
    """Kind, status, justification, the line of the deviation; every other result is known to have none."""
    marked = {r["ruleId"]: r["suppressions"] for r in results(_accepted_log()) if r["suppressions"]}
    assert set(marked) == {"telnet-enabled", "community-can-write"}
    (suppression,) = marked["telnet-enabled"]
    assert (suppression["kind"], suppression["status"]) == ("external", "accepted")
    assert "ticket CHG-2207" in suppression["justification"]
    assert suppression["location"]["physicalLocation"]["region"] == {"startLine": 1}
    assert suppression["properties"]["expires"] == "2027-03-31"
    assert all("suppressions" not in result for result in results(log_of(small_estate())))


def test_a_fault_of_a_deviation_is_known_again_on_another_line() -> None:
    """Another deviation was written before it: the line moves, the fingerprint stays; no two share one."""
    moved = tuple(replace(each, line=each.line + 9) for each in DEVIATIONS.deviations)
    later = replace(RUN, deviations=replace(DEVIATIONS, deviations=moved))
    first, second = (
        {r["ruleId"]: r for r in results(log) if r["ruleId"].startswith("deviation-")}
        for log in (_accepted_log(), log_of(small_estate(), later))
    )
    known = [{name: r["partialFingerprints"] for name, r in found.items()} for found in (first, second)]
    assert known[0] == known[1]
    assert len({each[FINGERPRINT] for each in known[0].values()}) == len(first) > 1
    assert first != second


def test_what_could_not_be_used_is_told_as_a_notification() -> None:
    """Each fault with its place; the run did not succeed in full."""
    (invocation,) = _accepted_log()["runs"][0]["invocations"]
    assert invocation["executionSuccessful"] is False
    places = [each["locations"][0]["physicalLocation"] for each in invocation["toolExecutionNotifications"]]
    assert places[0] == {
        "artifactLocation": {"uri": "south/broken.json"},
        "region": {"startLine": 4, "startColumn": 11},
    }


@pytest.mark.parametrize(
    ("file", "uri"),
    [
        ("a b/é#?.json", "a%20b/%C3%A9%23%3F.json"),
        ("./north/x.json", "north/x.json"),
        ("/srv/x 1.json", "file:///srv/x%201.json"),
        ("c:x.json", "c%3Ax.json"),
        ("100%.json", "100%25.json"),
    ],
)
def test_addresses_are_percent_encoded(file: str, uri: str) -> None:
    """RFC 3986 section 2.3: all but unreserved characters; a colon can't make a scheme of a name."""
    assert file_uri(file) == uri


def test_no_secret_stands_in_the_log() -> None:
    """Places of secrets are named, never what stands there."""
    assert SECRET.encode() not in render(make_sarif, ACCEPTED, small_estate())
