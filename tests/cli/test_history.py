"""``witnessmark history``: formats by name and by ending, what is refused, and the site's calendar."""

import json
from pathlib import Path

import pytest

from tests.history.estate import RULES, run, sweep, sweeps_in, telnet_on, write_cards


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a store with two sweeps."""
    folder = tmp_path_factory.mktemp("history")
    cards, file = write_cards(folder / "cards", a=telnet_on, b=None), folder / "history.db"
    sweep(file, cards, "2026-01-01", "--ruleset", RULES)
    sweep(file, write_cards(cards, a=None, b=None), "2026-03-01", "--ruleset", RULES)
    return file


@pytest.mark.parametrize(
    ("name", "begins"),
    [
        ("h.html", b"<!doctype html>"),
        ("h.json", b'{"schema":"witnessmark/history-1"'),
        ("h.csv", b'"card","site","rule"'),
        ("h.txt", b"History"),
    ],
)
def test_the_ending_of_the_output_names_the_format(
    store: Path, tmp_path: Path, name: str, begins: bytes
) -> None:
    """A text file holds the table."""
    target = tmp_path / name
    assert run("history", "--store", store, "--output", target).exit_code == 0
    assert target.read_bytes().startswith(begins)


def test_an_ending_that_names_no_format_is_refused(store: Path, tmp_path: Path) -> None:
    """Nothing is written that its name denies."""
    target = tmp_path / "h.docx"
    refused = run("history", "--store", store, "--output", target)
    assert (refused.exit_code, target.exists()) == (2, False)
    assert "h.docx ends in none of .html, .htm, .json, .csv, .txt" in " ".join(refused.stderr.split())


@pytest.mark.parametrize(
    ("form", "begins"),
    [("sweeps-csv", '"as_of","part"'), ("cards-csv", '"card","name"'), ("table", "History"), ("json", "{")],
)
def test_a_format_can_be_named(store: Path, form: str, begins: str) -> None:
    """To standard output."""
    result = run("history", "--store", store, "--format", form, "--as-of", "2026-03-02")
    assert result.exit_code == 0
    assert result.stdout.startswith(begins)


def test_a_history_is_told_as_of_a_day(store: Path) -> None:
    """Later sweeps are not known yet; before the first there is nothing to tell."""
    early = json.loads(run("history", "--store", store, "--format", "json", "--as-of", "2026-02-01").stdout)
    assert (len(early["sweeps"]), early["findings"][0]["fate"], early["findings"][0]["age_days"]) == (
        1, "open", 31,
    )  # fmt: skip
    late = json.loads(run("history", "--store", store, "--format", "json", "--as-of", "2026-03-01").stdout)
    assert {one["rule"]: one["fate"] for one in late["findings"]} == {"telnet-enabled": "mended"}
    none = run("history", "--store", store, "--as-of", "2025-12-31")
    assert none.exit_code == 2
    assert none.stderr == (
        f"{store}: holds no sweep as of 2025-12-31 00:00 UTC\n  Sweep first, or name a later --as-of.\n"
    )


@pytest.mark.parametrize("arguments", [[], ["--store", "nowhere.db"]])
def test_a_history_needs_a_store(arguments: list[str]) -> None:
    """Told as a wrong call, or as a missing file."""
    result = run("history", *arguments)
    assert result.exit_code == 2
    assert "name the history" in result.stderr or "there is no such file" in result.stderr


def test_a_report_never_takes_the_place_of_the_store(store: Path) -> None:
    """Refused before anything is written."""
    before = store.read_bytes()
    assert run("history", "--store", store, "--output", store).exit_code == 2
    assert store.read_bytes() == before


def test_reading_a_history_changes_nothing(store: Path) -> None:
    """Not a byte of the file, and nothing is left beside it."""
    before = store.read_bytes()
    run("history", "--store", store)
    assert store.read_bytes() == before
    assert sorted(each.name for each in store.parent.glob("history.db*")) == [
        "history.db",
        "history.db-cache",
    ]


@pytest.mark.parametrize(
    ("site", "due"),
    [
        ("", "2026-04-01"),
        ("[sweep]\nevery_days = 30\n", "2026-01-31"),
        ("[parameters]\nsweep_interval_days = 7\n", "2026-01-08"),
    ],
)
def test_the_calendar_of_the_site_makes_cards_due(tmp_path: Path, site: str, due: str) -> None:
    """By its own table, or by the parameter that it sets: they are one."""
    cards, file = write_cards(tmp_path / "cards", a=None), tmp_path / "history.db"
    choices = tmp_path / "witnessmark.toml"
    choices.write_text(site, "utf-8")
    sweep(file, cards, "2026-01-01", "--ruleset", RULES, "--site", choices)
    document = json.loads(run("history", "--store", file, "--format", "json", "--as-of", "2026-12-01").stdout)
    assert (document["cards"][0]["due"][:10], document["cards"][0]["overdue"]) == (due, True)
    assert document["series"][0]["overdue"]


def test_the_calendar_is_the_parameter_of_the_rules(tmp_path: Path) -> None:
    """What [sweep] says, the rule on the card's log asks for; said twice, it is refused."""
    choices = tmp_path / "witnessmark.toml"
    choices.write_text("[sweep]\nevery_days = 30\n", "utf-8")
    cards = write_cards(tmp_path / "cards", a=None)
    document = json.loads(run("audit", cards, "--site", choices, "--format", "json").stdout)
    assert document["run"]["parameters"]["sweep_interval_days"]["value"] == 30
    choices.write_text("[sweep]\nevery_days = 30\n[parameters]\nsweep_interval_days = 30\n", "utf-8")
    result = run("rules", "check", choices)
    assert result.exit_code == 2
    assert "/sweep/every_days: the parameter sweep_interval_days says the same" in result.stderr
    assert "Keep one of the two." in result.stderr


@pytest.mark.parametrize("wrong", ["0", "2.5", '"ninety"', "99999"])
def test_a_wrong_calendar_is_told_with_its_line(tmp_path: Path, wrong: str) -> None:
    """Whole days, from 1."""
    choices = tmp_path / "witnessmark.toml"
    choices.write_text(f"[sweep]\nevery_days = {wrong}\n", "utf-8")
    result = run("rules", "check", choices)
    assert result.exit_code == 2
    assert f"{choices}:2" in result.stderr
    assert "1 to 3660" in result.stderr


def test_a_calendar_without_a_ruleset_that_has_it_stands_all_the_same(tmp_path: Path) -> None:
    """The history keeps it; no rule asks for it."""
    rules = tmp_path / "own.toml"
    text = RULES.read_text("utf-8")
    start, end = text.index("[parameters.sweep_interval_days]"), text.index("[parameters.capture_age")
    rules.write_text(text[:start] + text[end:], "utf-8")
    choices = tmp_path / "witnessmark.toml"
    choices.write_text("[sweep]\nevery_days = 14\n", "utf-8")
    cards, file = write_cards(tmp_path / "cards", a=None), tmp_path / "history.db"
    sweep(file, cards, "2026-01-01", "--ruleset", rules, "--site", choices)
    assert sweeps_in(file)[0][0].every_days == 14
    sweep(file, cards, "2026-01-02", "--ruleset", rules)
    assert sweeps_in(file)[1][0].every_days is None
