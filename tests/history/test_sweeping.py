"""Sweeps from what is known of unchanged records: the same as afresh, to the last byte of a report."""

import json
import random
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import orjson
import pytest

from auditor.facts.fact import Context
from auditor.history.card_result import card_result, digest_of, from_bytes, to_bytes
from auditor.history.lasting_text import lasting_of, lasting_texts
from auditor.record.reading import read_record
from auditor.scoring.assessment import assess
from tests.bench.estate import write_estate
from tests.history.estate import RULES, run, sweep, sweeps_in, telnet_on, write_cards
from tests.rules.matrix import AS_OF, ROOT, program
from tests.rules.mutation import random_card
from tests.rules.test_lasting import told

DEMO = ROOT / "fixtures/estate"
SITE = ("--site", DEMO / "witnessmark.toml", "--deviations", DEMO / "deviations.toml")
DAYS = ("2026-11-25", "2029-01-01", "2026-08-01")


def report(store: Path, paths: Path, day: str, *more: object) -> str:
    """Sweep, and return the report of all cards."""
    return sweep(store, paths, day, "--format", "json", *more).stdout


def audited(paths: Path, day: str, *more: object) -> str:
    """Audit, and return the same report."""
    return run("audit", paths, "--as-of", day, "--format", "json", *more).stdout


def entries(store: Path) -> int:
    """Return how many records the cache of a store knows."""
    connection = sqlite3.connect(f"{store}-cache")
    (count,) = connection.execute("SELECT count(*) FROM entry").fetchone()
    connection.close()
    return int(count)


def test_every_sweep_of_the_demo_estate_says_what_an_audit_says(tmp_path: Path) -> None:
    """Over days, back and forth: cached and fresh reports are the same bytes, deviations included."""
    store = tmp_path / "history.db"
    for day in DAYS:
        assert report(store, DEMO, day, *SITE) == audited(DEMO, day, *SITE)
    assert entries(store) == 23


def test_every_sweep_of_a_generated_estate_says_what_an_audit_says(tmp_path: Path) -> None:
    """Cards of every section, defects in a third; some change in between."""
    estate, store = tmp_path / "estate.ndjson", tmp_path / "history.db"
    write_estate(estate, 40)
    for number, day in enumerate(DAYS[:2]):
        lines = estate.read_bytes().splitlines()
        lines[number] = lines[number].replace(b'"enabled":true', b'"enabled":false')
        estate.write_bytes(b"\n".join(lines))
        assert report(store, estate, day) == audited(estate, day)


@pytest.mark.parametrize("seed", range(15))
def test_what_lasts_survives_being_written_down(seed: int) -> None:
    """Random cards: read from its two texts, it gives the assessment of a fresh judgement, on any day."""
    used, context = program({}), Context(AS_OF)
    record = read_record(orjson.dumps(random_card(random.Random(seed))), "c.json")  # noqa: S311 - made-up data
    fresh = assess(record, used, context)
    feeds = record.settings.get("equipment", {}).get("feeds", "")
    known = lasting_of(*lasting_texts(fresh), used, feeds)
    assert told(assess(record, used, context, known=known)) == told(fresh)


@pytest.mark.parametrize("seed", range(15))
def test_what_is_kept_of_a_card_survives_being_written_down(seed: int) -> None:
    """The same result is always the same bytes, and they give it back."""
    card = random_card(random.Random(seed))  # noqa: S311 - made-up data
    assessment = assess(read_record(orjson.dumps(card), "c.json"), program({}), Context(AS_OF))
    kept = card_result(assessment, card)
    assert from_bytes(to_bytes(kept)) == kept
    assert digest_of(to_bytes(from_bytes(to_bytes(kept)))) == digest_of(to_bytes(kept))


def _change_a_ruleset(folder: Path) -> None:
    file = folder / "small.toml"
    file.write_text(file.read_text("utf-8").replace("value = 90", "value = 30"), "utf-8")


def _change_the_record(folder: Path) -> None:
    file = folder / "cards" / "a.json"
    card = json.loads(file.read_text("utf-8"))
    card["accounts"][0]["is_shared"] = True
    file.write_text(json.dumps(card), "utf-8")


def _lie_in_a_work_tree(folder: Path) -> None:
    (folder / ".git").mkdir()


def _change_nothing(_folder: Path) -> None:
    pass


@pytest.mark.parametrize(
    ("change", "more"),
    [(_change_nothing, 0), (_change_a_ruleset, 2), (_change_the_record, 1), (_lie_in_a_work_tree, 2)],
)
def test_what_an_outcome_hangs_on_makes_a_record_new(
    tmp_path: Path, change: Callable[[Path], None], more: int
) -> None:
    """Its text, where it lies, the rules: any change of them and the record is judged afresh."""
    shutil.copy(RULES, tmp_path)
    cards, store = write_cards(tmp_path / "cards", a=None, b=telnet_on), tmp_path / "history.db"
    rules = ("--ruleset", tmp_path / "small.toml")
    sweep(store, cards, "2026-01-01", *rules)
    assert entries(store) == 2
    change(tmp_path)
    assert report(store, cards, "2026-01-01", *rules) == audited(cards, "2026-01-01", *rules)
    assert entries(store) == 2 + more


def test_what_lies_across_records_is_worked_out_in_every_sweep(tmp_path: Path) -> None:
    """A card that is known comes to share its secrets and its address; and somebody answers for a finding."""
    cards, store = write_cards(tmp_path / "cards", a=telnet_on), tmp_path / "history.db"
    rules = ("--ruleset", RULES)
    alone = json.loads(report(store, cards, "2026-01-01", *rules))["summary"]
    assert (alone["shared"], alone["addresses"]["shared"]) == ([], [])
    write_cards(cards, a=telnet_on, b=None)
    both = report(store, cards, "2026-01-01", *rules)
    assert both == audited(cards, "2026-01-01", *rules)
    summary = json.loads(both)["summary"]
    assert summary["shared"]
    assert summary["addresses"]["shared"]
    deviations = tmp_path / "deviations.toml"
    deviations.write_text(
        '[[deviation]]\nrule = "telnet-enabled"\ncards = ["a"]\nowner = "N. Adeyemi"\n'
        'reason = "Until the visit in spring."\nexpires = 2026-03-31\nticket = "CHG-1"\n',
        "utf-8",
    )
    accepted = (*rules, "--deviations", deviations)
    assert report(store, cards, "2026-01-01", *accepted) == audited(cards, "2026-01-01", *accepted) != both
    assert entries(store) == 2


@pytest.mark.parametrize("content", [b"", b"no database", b"SQLite format 3\x00" + b"\x5a" * 4096])
def test_a_cache_that_can_not_be_used_costs_time_only(tmp_path: Path, content: bytes) -> None:
    """Damaged, it is made anew; the report is the same."""
    cards, store = write_cards(tmp_path / "cards", a=None, b=telnet_on), tmp_path / "history.db"
    sweep(store, cards, "2026-01-01", "--ruleset", RULES)
    Path(f"{store}-cache").write_bytes(content)
    assert report(store, cards, "2026-01-02", "--ruleset", RULES) == audited(
        cards, "2026-01-02", "--ruleset", RULES
    )
    assert entries(store) == 2


def test_a_cache_of_another_format_is_made_anew(tmp_path: Path) -> None:
    """An older tool wrote it: nothing of it is read."""
    cards, store = write_cards(tmp_path / "cards", a=None), tmp_path / "history.db"
    with sqlite3.connect(f"{store}-cache") as connection:
        connection.execute("PRAGMA user_version = 99")
        connection.execute("CREATE TABLE entry (other TEXT)")
    connection.close()
    sweep(store, cards, "2026-01-01", "--ruleset", RULES)
    assert entries(store) == 1


def test_where_no_cache_can_be_kept_the_sweep_runs_all_the_same(tmp_path: Path) -> None:
    """A folder has its name; and with --no-cache none is made at all."""
    cards, store = write_cards(tmp_path / "cards", a=None), tmp_path / "history.db"
    Path(f"{store}-cache").mkdir()
    sweep(store, cards, "2026-01-01", "--ruleset", RULES)
    other = tmp_path / "other.db"
    sweep(other, cards, "2026-01-01", "--ruleset", RULES, "--no-cache")
    assert (len(sweeps_in(store)), len(sweeps_in(other))) == (1, 1)
    assert not Path(f"{other}-cache").exists()


def test_entries_that_no_run_asked_for_in_a_long_time_are_dropped(tmp_path: Path) -> None:
    """The cache does not grow with all that ever was."""
    cards, store = write_cards(tmp_path / "cards", a=None, b=None), tmp_path / "history.db"
    sweep(store, cards, "2026-01-01", "--ruleset", RULES)
    write_cards(tmp_path / "cards", a=None)
    for _ in range(12):
        sweep(store, cards, "2026-01-01", "--ruleset", RULES)
    assert entries(store) == 2
    sweep(store, cards, "2026-01-01", "--ruleset", RULES)
    assert entries(store) == 1


def test_exit_codes_are_those_of_an_audit(tmp_path: Path) -> None:
    """Released, held, and held no more with a higher band; a bad record is 2, and the rest is kept."""
    cards, store = write_cards(tmp_path / "cards", a=None), tmp_path / "history.db"
    assert sweep(store, cards, "2026-11-25", "--ruleset", RULES).exit_code == 0
    write_cards(cards, a=telnet_on)
    assert sweep(store, cards, "2026-11-26", "--ruleset", RULES).exit_code == 1
    assert sweep(store, cards, "2026-11-27", "--ruleset", RULES, "--hold-at", "critical").exit_code == 1
    (cards / "bad.json").write_text("{", "utf-8")
    result = sweep(store, cards, "2026-11-28", "--ruleset", RULES)
    assert result.exit_code == 2
    assert "bad.json:1" in result.stderr
    last, _ = sweeps_in(store)[-1]
    assert (len(sweeps_in(store)), last.unusable) == (4, 1)


def test_a_sweep_says_what_changed_since_the_last_of_its_part(tmp_path: Path) -> None:
    """New, mended, still open; cards that came and went; and parts are kept apart."""
    cards, store = write_cards(tmp_path / "cards", a=telnet_on, b=telnet_on, c=None), tmp_path / "history.db"
    first = sweep(store, cards, "2026-11-25", "--ruleset", RULES).stdout
    assert "It is the first sweep of its series" in first
    write_cards(cards, a=None, b=telnet_on, d=None)
    again = " ".join(sweep(store, cards, "2026-11-26", "--ruleset", RULES).stdout.split())
    assert (
        "Since the sweep of 2026-11-25: 0 findings new; 1 mended; 1 still open; 1 card new: d; "
        "1 card missing: c." in again
    )
    other = sweep(store, cards, "2026-11-27", "--ruleset", RULES, "--part", "north").stdout
    assert "It is the first sweep of its series" in other


def test_a_report_on_standard_output_stands_there_alone(tmp_path: Path) -> None:
    """What is said of the sweep goes to standard error; --quiet says nothing."""
    cards, store = write_cards(tmp_path / "cards", a=None), tmp_path / "history.db"
    result = sweep(store, cards, "2026-11-25", "--ruleset", RULES, "--format", "json")
    assert json.loads(result.stdout)["schema"] == "witnessmark/result-1"
    assert "Appended to" in result.stderr
    silent = sweep(store, cards, "2026-11-25", "--ruleset", RULES, "--quiet")
    assert (silent.stdout, silent.stderr) == ("", "")


def test_a_report_that_can_not_be_written_leaves_no_sweep(tmp_path: Path) -> None:
    """Its folder is missing: exit code 2, and nothing is appended."""
    cards, store = write_cards(tmp_path / "cards", a=None), tmp_path / "history.db"
    where = tmp_path / "nowhere" / "report.html"
    result = sweep(store, cards, "2026-11-25", "--ruleset", RULES, "--output", where)
    assert result.exit_code == 2
    assert sweeps_in(store) == []
