"""A site's own words from its file to the outcomes: each kind of secret, sealed too; none is told."""

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest
from passlib.hash import sha512_crypt  # type: ignore[import-untyped]  # ships no types
from typer.testing import CliRunner, Result

from auditor.cli.cache import VARIABLE
from auditor.cli.main import app
from auditor.facts.localized_key import localize, password_to_key
from auditor.fleet import context
from auditor.report.formats import FORMATS
from tests.record.mutations import compliant

WORD = "Quoll-Tank-House-58-Fescue"
ENGINE = "800002b804616263"
EXPECTED = {
    "password-well-known",
    "community-well-known",
    "snmp-auth-passphrase-well-known",
    "snmp-privacy-passphrase-well-known",
    "radius-secret-well-known",
    "account-hash-of-default-password",
}


@pytest.fixture(autouse=True)
def _few_words(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the shipped list be short, so that its keys are made in no time."""
    monkeypatch.setattr(context, "well_known_words", lambda: frozenset({"public"}))
    context._shipped_keys.cache_clear()  # noqa: SLF001 - another list is another table


@pytest.fixture
def card(tmp_path: Path) -> Path:
    """Write a card that holds the word as secret of every kind, a hash and localized keys among them."""
    made: dict[str, Any] = compliant()
    made["accounts"][2]["password"] = {"clear": WORD.upper()}
    made["accounts"][1]["password"] = {"crypt": sha512_crypt.using(rounds=1000).hash(WORD)}
    made["snmp"]["versions"] = ["v2c", "v3"]
    made["snmp"]["communities"] = [
        {"name": "r", "enabled": True, "access": "read", "community": {"clear": WORD}}
    ]
    key = localize(password_to_key(WORD.encode(), "sha256"), bytes.fromhex(ENGINE), "sha256").hex()
    made["snmp"]["users"][0].update(
        auth_protocol="sha256", auth_secret={"localized": key}, priv_secret={"localized": key[:32]}
    )
    made["snmp"]["engine_id"] = ENGINE
    for server in made["directory"]["radius"]["servers"]:
        server.update(transport="udp", shared_secret={"clear": WORD})
    made["directory"]["radius"]["enabled"] = True
    file = tmp_path / "card.json"
    file.write_text(json.dumps(made), "utf-8")
    return file


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """Write a site's file with a list of words beside it."""
    (tmp_path / "lists").mkdir()
    (tmp_path / "lists" / "ours.txt").write_text(f"# ours\nother-word\n{WORD}\n", "utf-8")
    file = tmp_path / "witnessmark.toml"
    file.write_text('[site]\nword_list = "lists/ours.txt"\n', "utf-8")
    return file


def run(*arguments: object) -> Result:
    """Run a command in this process, from anywhere."""
    return CliRunner().invoke(app, [*map(str, arguments)])


def failing(record: Path, *options: object) -> set[str]:
    """Return the rules that a record fails, of those that go by lists of words."""
    result = json.loads(run("audit", record, "--format", "json", *options).stdout)
    return {finding["rule"] for card in result["cards"] for finding in card["findings"]} & EXPECTED


def test_a_word_of_the_site_counts_as_well_known_everywhere(card: Path, site: Path) -> None:
    """With the site's file each kind of secret fails its rule; without it none does."""
    assert failing(card) == set()
    assert failing(card, "--site", site) == EXPECTED


def test_a_sealed_record_keeps_what_the_list_says(card: Path, site: Path, tmp_path: Path) -> None:
    """Sealed with the list, the outcomes are the same with it and without it; no word is in the record."""
    run("seal", "--new-key", tmp_path / "key")
    assert run("seal", card, "--key", tmp_path / "key", "--site", site).exit_code == 0
    assert WORD.lower() not in card.read_text("utf-8").lower()
    assert failing(card, "--site", site) == EXPECTED
    assert failing(card) == set()


@pytest.mark.parametrize("form", FORMATS)
def test_reports_tell_how_many_words_and_never_one(card: Path, site: Path, form: str) -> None:
    """Those that print what was tailored name the list, its number of words and its digest."""
    result = run("audit", card, "--site", site, "--format", form)
    assert result.exit_code == 1
    assert WORD.lower() not in result.output.lower()
    assert "other-word" not in result.output
    if form in ("json", "html", "markdown"):
        assert "ours.txt" in result.stdout
        assert "digest" in result.stdout


@pytest.mark.parametrize("command", [("audit",), ("rules", "check"), ("seal",), ("import",)])
def test_a_faulty_list_is_told_by_file_and_line(
    card: Path, site: Path, tmp_path: Path, command: tuple[str, ...]
) -> None:
    """Whatever reads the site's file says where in the list the fault is, and not what stands there."""
    (tmp_path / "lists" / "ours.txt").write_bytes(b"fine\n" + WORD.encode() + b"\xff\n")
    run("seal", "--new-key", tmp_path / "key")
    options = {
        "audit": (card, "--site", site),
        "rules": (site,),
        "seal": (card, "--key", tmp_path / "key", "--site", site),
        "import": (card, "--to", tmp_path / "records", "--site", site),
    }
    result = run(*command, *options[command[0]])
    assert result.exit_code == 2
    assert "ours.txt:2" in result.stderr
    assert WORD not in result.output


def test_a_list_that_is_not_there_is_told(card: Path, site: Path, tmp_path: Path) -> None:
    """The fault names the list's own path."""
    (tmp_path / "lists" / "ours.txt").unlink()
    result = run("audit", card, "--site", site)
    assert result.exit_code == 2
    assert "ours.txt" in result.stderr


def test_no_report_takes_the_place_of_the_list(card: Path, site: Path, tmp_path: Path) -> None:
    """It is one of the inputs."""
    listed = tmp_path / "lists" / "ours.txt"
    before = listed.read_bytes()
    result = run("audit", card, "--site", site, "--format", "csv", "--output", listed)
    assert (result.exit_code, listed.read_bytes()) == (2, before)


def test_no_key_of_the_site_s_words_is_kept_in_the_cache(
    card: Path, site: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Such a key opens every card that has the word: one file lies there, of the one shipped word."""
    monkeypatch.setenv(VARIABLE, str(tmp_path / "cache"))
    assert failing(card, "--site", site) == EXPECTED
    (kept,) = (tmp_path / "cache").iterdir()
    spellings = ("public", "Public", "PUBLIC")
    keys = b"".join(sorted_keys(spellings))
    assert kept.read_bytes().endswith(keys)
    assert password_to_key(WORD.encode(), "sha256") not in kept.read_bytes()
    assert len(kept.read_bytes()) < 4 * 32 + 100


def sorted_keys(words: Iterable[str]) -> list[bytes]:
    """Return the keys of words, in the order of the words."""
    return [password_to_key(word.encode(), "sha256") for word in sorted(words)]


def test_the_check_of_a_site_s_file_counts_its_words(site: Path) -> None:
    """``rules check`` says how many words the list adds."""
    assert "2 own words" in run("rules", "check", site).output


def test_sealing_takes_the_site_s_file_with_a_key_only(card: Path, site: Path) -> None:
    """A check looks for clear secrets: no list makes a difference to it."""
    result = CliRunner().invoke(
        app, ["seal", str(card), "--check", "--site", str(site)], env={"COLUMNS": "300"}
    )
    assert result.exit_code == 2
