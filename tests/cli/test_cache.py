"""Where a run keeps the keys of the well-known words, what lies there, and what is said meanwhile."""

import io
import json
import os
import sys
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from auditor import audit as audit_from_python
from auditor.cli.cache import VARIABLE, cache_folder, key_store
from auditor.cli.main import app
from auditor.facts.localized_key import localize, password_to_key
from auditor.fleet import context, key_table
from tests.record.mutations import compliant

ENGINE = "800002b804616263"
FAILS = "snmp-auth-passphrase-well-known"


@pytest.fixture(autouse=True)
def _few_words(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the list be short, so that its keys are made in no time."""
    monkeypatch.setattr(context, "well_known_words", lambda: frozenset({"public", "maplesyrup"}))
    context._shipped_keys.cache_clear()  # noqa: SLF001 - another list is another table


def card_with_key(folder: Path, word: str) -> Path:
    """Write a card with one SNMPv3 user, whose keys were made of a word."""
    card: dict[str, Any] = compliant()
    key = localize(password_to_key(word.encode(), "sha1"), bytes.fromhex(ENGINE), "sha1").hex()
    user = card["snmp"]["users"][0]
    user.update(auth_protocol="sha1", auth_secret={"localized": key}, priv_secret={"localized": key[:32]})
    card["snmp"].update(engine_id=ENGINE, users=[user])
    file = folder / "card.json"
    file.write_text(json.dumps(card), "utf-8")
    return file


def run(*arguments: object, env: dict[str, str]) -> Result:
    """Run the command in this process, with an environment."""
    return CliRunner().invoke(app, [*map(str, arguments)], env=env)


@pytest.mark.parametrize(
    ("word", "fails"), [("maplesyrup", True), ("Public", True), ("clover-57-hatch", False)]
)
def test_an_audit_finds_the_word_behind_a_localized_key(tmp_path: Path, word: str, fails: bool) -> None:
    """From the command line and from Python, on the first run and on the next."""
    file, kept = card_with_key(tmp_path, word), tmp_path / "cache"
    for _ in range(2):
        result = run("audit", file, "--format", "csv", env={VARIABLE: str(kept)})
        assert (FAILS in result.stdout) is fails
        audited = audit_from_python([str(file)])
        assert (FAILS in [f.rule.id for f in audited.cards[0].findings]) is fails
    assert [path.name.split("-")[2] for path in kept.iterdir()] == ["sha1"]


def test_an_import_finds_it_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What to capture next is told of the same outcomes as an audit has; the table is read once."""
    file = card_with_key(tmp_path, "maplesyrup")
    asked: list[str] = []
    real = key_table._read  # noqa: SLF001

    def counted(path: Path) -> bytes:
        asked.append(path.name)
        return real(path)

    monkeypatch.setattr(key_table, "_read", counted)
    env = {VARIABLE: str(tmp_path / "cache")}
    assert run("import", file, "--to", tmp_path / "records", env=env).exit_code == 0
    assert len(asked) == 1


def test_a_run_without_localized_keys_leaves_no_folder(tmp_path: Path) -> None:
    """The cache costs nothing where it is not needed, not even a folder."""
    file = tmp_path / "card.json"
    file.write_text(json.dumps(compliant()), "utf-8")
    run("audit", file, env={VARIABLE: str(tmp_path / "cache")})
    assert not (tmp_path / "cache").exists()


def test_an_empty_variable_keeps_nothing(tmp_path: Path) -> None:
    """The word is found all the same, and neither home nor cache holds a file."""
    file = card_with_key(tmp_path, "maplesyrup")
    env = {VARIABLE: "", "XDG_CACHE_HOME": str(tmp_path / "xdg"), "HOME": str(tmp_path / "home")}
    assert FAILS in run("audit", file, "--format", "csv", env=env).stdout
    assert not (tmp_path / "xdg").exists()
    assert not (tmp_path / "home").exists()


@pytest.mark.skipif(os.name != "posix", reason="rights on files are those of POSIX")
def test_folder_and_file_are_for_their_owner_alone(tmp_path: Path) -> None:
    """The folder is made with mode 0700, the file in it with 0600."""
    run("audit", card_with_key(tmp_path, "maplesyrup"), env={VARIABLE: str(tmp_path / "cache")})
    (kept,) = (tmp_path / "cache").iterdir()
    assert [path.stat().st_mode & 0o777 for path in (kept.parent, kept)] == [0o700, 0o600]


@pytest.mark.parametrize(
    ("variables", "folder"),
    [
        ({VARIABLE: "/a/b", "XDG_CACHE_HOME": "/x", "HOME": "/h"}, "/a/b"),
        ({VARIABLE: "", "XDG_CACHE_HOME": "/x", "HOME": "/h"}, None),
        ({"XDG_CACHE_HOME": "/x", "HOME": "/h"}, "/x/witnessmark"),
        ({"XDG_CACHE_HOME": "x", "HOME": "/h"}, "/h/.cache/witnessmark"),
        ({"XDG_CACHE_HOME": "", "HOME": "/h"}, "/h/.cache/witnessmark"),
        ({"LOCALAPPDATA": "/l", "HOME": "/h"}, "/l/witnessmark"),
        ({"HOME": "/h"}, "/h/.cache/witnessmark"),
    ],
)
def test_the_folder_is_where_the_system_keeps_caches(
    monkeypatch: pytest.MonkeyPatch, variables: dict[str, str], folder: str | None
) -> None:
    """Source: XDG Base Directory Specification: a relative path is ignored, ~/.cache is the default."""
    for name in (VARIABLE, "XDG_CACHE_HOME", "LOCALAPPDATA", "HOME"):
        monkeypatch.delenv(name, raising=False)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    assert cache_folder() == (Path(folder) if folder else None)


def test_where_nobody_has_a_home_nothing_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """A service account without a home folder audits all the same."""
    for name in (VARIABLE, "XDG_CACHE_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)

    def nobody() -> Path:
        raise RuntimeError("no home")

    monkeypatch.setattr(Path, "home", nobody)
    assert cache_folder() is None


class Terminal(io.StringIO):
    """Standard error that is a terminal."""

    def isatty(self) -> bool:
        """Say yes."""
        return True


def test_the_first_run_at_a_terminal_shows_its_progress(monkeypatch: pytest.MonkeyPatch) -> None:
    """One line that counts and is wiped at the end; quiet, or elsewhere, nothing."""
    for terminal, quiet in ((Terminal(), False), (Terminal(), True), (io.StringIO(), False)):
        monkeypatch.setattr(sys, "stderr", terminal)
        words = [b"a"] * 60
        assert list(key_store(quiet=quiet).watch(words, "sha1")) == words
        said = terminal.getvalue()
        if quiet or not isinstance(terminal, Terminal):
            assert said == ""
        else:
            assert "sha1 keys of the well-known words: 50 of 60" in said
            assert said.endswith("\r\x1b[K")
