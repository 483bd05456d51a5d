"""What the canary tests share: a marker in every secret of the schema, and a world that is looked through."""

import base64
import contextlib
import gzip
import html
import json
import logging
import operator
import os
import shutil
import sqlite3
import sys
import tempfile
import traceback
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, lru_cache
from itertools import chain
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote, quote_plus

import orjson
import pytest
import typer.main
import typer.testing
from typer.testing import CliRunner, Result

from auditor.cli.cache import VARIABLE
from auditor.cli.main import app
from auditor.facts.fact import Fact
from auditor.facts.localized_key import password_to_key
from auditor.fleet import choices, key_table
from auditor.intake.sheet import write_sheet
from auditor.record.pointer import join
from auditor.record.secret_place import located_secrets
from auditor.rules import crosswalk
from auditor.rules.loading import load_ruleset
from auditor.rules.program import Program, make_program
from auditor.rules.rule import Parameter, Ruleset
from auditor.rules.tailoring import Tailoring
from tests.report.hostile import hostile_card
from tests.rules.matrix import ROOT

AS_OF = ("--as-of", "2026-11-25T12:00:00Z")

CORES: Final = {
    "/services/mqtt/password": "quagga51mqtt",
    "/services/serial_console/password": "bilby62console",
    "/services/wifi/passphrase": "numbat73wifi",
    "/accounts/*/password": "dunnart84account",
    "/directory/ldap/bind/password": "potoroo95ldap",
    "/directory/radius/servers/*/shared_secret": "kowari16radius",
    "/snmp/communities/*/community": "mulgara27community",
    "/snmp/users/*/auth_secret": "bettong38auth",
    "/snmp/users/*/priv_secret": "wambenger49priv",
    "/snmp/receivers/*/community": "kultarr50receiver",
    "/mail/password": "planigale61mail",
    "/shutdown/agents/*/secret": "ningaui72agent",
}
"""A word of its own for every secret of the schema; a secret that is added needs one here."""

AROUND: Final = 'ä"<&=/\\é'
"""Stands behind each word in clear, so that every way of quoting makes another text of it."""


def _hex(core: str, size: int) -> str:
    return (core.encode().hex() * size)[:size]


FORMS: Final[dict[str, Callable[[str], dict[str, Any]]]] = {
    "clear": lambda core: {"clear": core + AROUND},
    "plain-crypt": lambda core: {"crypt": f"$0${core}"},
    "crypt": lambda core: {"crypt": f"$6${core[:8]}${core}"},
    "localized": lambda core: {"localized": _hex(core, 40)},
    "sealed": lambda core: {"sealed": {"tag": _hex(core, 64), "length": 12}},
}
"""Every form of a secret that says something of it."""


def encodings(text: str) -> Iterator[str]:
    """Yield a text in all the ways in which it may be written by accident."""
    octets = text.encode()
    yield from (text, text[::-1], octets.hex(), octets.hex().upper(), octets[::-1].hex(), repr(text)[1:-1])
    yield from (json.dumps(text)[1:-1], json.dumps(text, ensure_ascii=False)[1:-1])
    yield from (quote(text), quote(text, safe=""), quote_plus(text), html.escape(text), ascii(text)[1:-1])
    for shift in range(3):  # where a text begins among the octets changes all of its base64
        coded = base64.b64encode(b"\0" * shift + octets).decode().rstrip("=")
        yield coded[shift + 1 if shift else 0 : -1]


def signs_of(pointer: str, form: str) -> set[str]:
    """Return every text that would give the marker of a secret away in one of its forms, lower case."""
    core = CORES[pointer]
    texts = {core, *strings(FORMS[form](core))}
    texts = {core, core + AROUND} if form == "clear" else {text for text in texts if len(text) > 9}
    return {sign.lower() for text in texts for sign in encodings(text)}


@cache
def _signs(forms: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """Return what would give a marker away, with the secret that it belongs to.

    A sign that holds another of the same secret is left out: where it stands, the other stands too.
    """
    return tuple(
        (sign, pointer)
        for pointer in CORES
        for sign in _shortest(set().union(*(signs_of(pointer, form) for form in forms)))
    )


def _shortest(signs: set[str]) -> list[str]:
    """Return the signs that hold no other."""
    kept: list[str] = []
    for sign in sorted(signs, key=lambda each: (len(each), each)):
        if not any(other in sign for other in kept):
            kept.append(sign)
    return kept


def strings(value: Any) -> Iterator[str]:
    """Yield the texts of a secret's form, however deep."""
    for inner in value.values():
        if isinstance(inner, dict):
            yield from strings(inner)
        elif isinstance(inner, str):
            yield inner


def given_away(text: str, forms: Sequence[str]) -> list[str]:
    """Return the secrets of which a text holds a marker."""
    low = text.lower()
    return sorted({pointer for sign, pointer in _signs(tuple(forms)) if sign in low})


def marked_card(form: str, card_id: str) -> dict[str, Any]:
    """Return a record with every member of the schema, and a marker in every secret."""
    card: dict[str, Any] = orjson.loads(_marked_text(form))
    card["card"]["id"] = card_id
    return card


@cache
def _marked_text(form: str) -> bytes:
    card = hostile_card("text")
    for located in list(located_secrets(card)):
        pointer = join("*" if isinstance(token, int) else token for token in located.tokens)
        located.secret.clear()
        located.secret.update(FORMS[form](CORES[pointer]))
    return orjson.dumps(card)


CORE: Final = CORES["/accounts/*/password"]

FAULTY: Final[dict[str, dict[str, Any]]] = {
    "bare": {"accounts": [{"name": "a", "password": CORE}]},
    "in-a-list": {"accounts": [{"name": "a", "password": {"clear": [CORE]}}]},
    "misnamed": {"accounts": [{"name": "a", "password": {"clera": CORE}}]},
    "two-forms": {"accounts": [{"name": "a", "password": {"clear": CORE, "empty": True}}]},
    "no-crypt": {"accounts": [{"name": "a", "password": {"crypt": CORE}}]},
    "no-key": {"snmp": {"users": [{"name": "a", "auth_secret": {"localized": CORE}}]}},
    "no-tag": {"accounts": [{"name": "a", "password": {"sealed": {"tag": CORE}}}]},
    "no-length": {"accounts": [{"name": "a", "password": {"sealed": {"length": CORE}}}]},
    "no-list": {"accounts": [{"name": "a", "password": {"sealed": {"listed": CORE}}}]},
    "misplaced": {"mail": {"pasword": {"clear": CORE}}},
    "null": {"mail": {"password": {"clear": CORE}, "server": None}},
}
"""Records that the schema refuses, each with a marker where a careless hand would put it."""

BROKEN: Final = {
    "cut-off": f'{{"schema": "witnessmark/card-1", "mail": {{"password": {{"clear": "{CORE}',
    "unquoted": f'{{"mail": {{"password": {CORE}}}}}',
    "control": f'{{"mail": {{"password": {{"clear": "{CORE}\t"}}}}}}',
    "doubled": f'{{"mail": {{"password": {{"clear": "{CORE}"}}, "password": {{"empty": true}}}}}}',
    "escape": f'{{"mail": {{"password": {{"clear": "{CORE}\\x"}}}}}}',
}
"""Texts that are no JSON, or doubtful, broken beside a marker."""


@dataclass
class World:
    """A place of its own for one run: what goes in, and every folder that something may be left in."""

    top: Path
    given: dict[Path, bytes] = field(default_factory=dict)
    talk: list[str] = field(default_factory=list)
    removed: list[tuple[Path, bytes]] = field(default_factory=list)

    @property
    def inputs(self) -> Path:
        """Return the folder of what goes in."""
        return self.top / "inputs"

    def put(self, name: str, content: bytes) -> Path:
        """Put a file among what goes in."""
        path = self.inputs / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
        self.given[path] = content
        return path

    def run(self, *arguments: object, stdin: bytes = b"") -> Result:
        """Run a command in this process, keeping all that it says."""
        result = CliRunner().invoke(app, [str(each) for each in arguments], input=stdin)
        self.talk += [result.stdout, result.stderr]
        self.talk += _started
        self.removed += _removed
        _started.clear()
        _removed.clear()
        if result.exc_info is not None:
            self.talk.append("".join(traceback.format_exception(*result.exc_info)))
        return result

    def outputs(self, formats: Iterable[str], folder: str = "reports") -> list[object]:
        """Return options by which one run writes all of some formats, each to a file of its own."""
        (self.top / folder).mkdir()
        named = [("--format", form, "--output", self.top / folder / form) for form in formats]
        return [word for each in named for word in each]

    def keep(self, place: Path) -> "World":
        """Keep a copy of all that lies here, and of what was said, in another place."""
        shutil.copytree(self.top, place)
        return World(place, dict(self.given), list(self.talk), list(self.removed))

    def take_over(self, kept: "World") -> None:
        """Go on from a world that was kept: what was said there counts here too."""
        shutil.copytree(kept.top, self.top, dirs_exist_ok=True)
        self.given.update(kept.given)
        self.talk += kept.talk
        self.removed += kept.removed

    def left(self, exempt: Sequence[Path] = ()) -> Iterator[tuple[Path, str]]:
        """Yield every file below the top but what went in unchanged and what is exempt, with its name.

        A file that was there for a while, and was taken away again, counts too, unless it may have been
        the beginning of a file that is exempt.
        """
        there = ((path, path.read_bytes()) for path in sorted(self.top.rglob("*")) if path.is_file())
        beginnings = [(path, content) for path, content in self.removed if not _is_beside(path, exempt)]
        for path, content in chain(there, beginnings):
            if self.given.get(path) != content and not any(map(path.is_relative_to, exempt)):
                yield path, f"{path.name}\n{laid_open(path, content)}"

    def leaks(self, forms: Sequence[str], exempt: Sequence[Path] = ()) -> list[tuple[str, list[str]]]:
        """Return where markers were given away, and of which secrets; and where the site's key was."""
        places = [("talk", text) for text in self.talk]
        places += [(str(path.relative_to(self.top)), text) for path, text in self.left(exempt)]
        found = [(place, [*given_away(text, forms), *self._keys_in(place, text)]) for place, text in places]
        return [(place, secrets) for place, secrets in found if secrets]

    def _keys_in(self, place: str, text: str) -> list[str]:
        """Return the name of the site's key where a text holds it, in digits or as its bytes."""
        if not self.site_key.exists() or place == str(self.site_key.relative_to(self.top)):
            return []
        digits = self.site_key.read_text("ascii").strip()
        octets = bytes.fromhex(digits)
        signs = (*encodings(digits), repr(octets)[2:-1], base64.b64encode(octets).decode().rstrip("="))
        return [self.site_key.name] if any(sign in text for sign in signs) else []

    @property
    def site_key(self) -> Path:
        """Return where the site's key lies, if the command of a world needs one."""
        return self.inputs / "key"


def _is_beside(path: Path, exempt: Sequence[Path]) -> bool:
    return path.suffix == ".part" and path.parent in {each.parent for each in exempt}


def laid_open(path: Path, content: bytes) -> str:
    """Return what a file holds as text: unpacked, and of a database every cell, unpacked too."""
    if path.name.endswith(".gz"):
        content = gzip.decompress(content)
    text = content.decode("utf-8", "replace")
    if content.startswith(b"SQLite format 3\0") and path.exists():
        with contextlib.closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as opened:
            tables = opened.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
            rows = chain.from_iterable(opened.execute(f'SELECT * FROM "{name}"') for (name,) in tables)  # noqa: S608 - names of its own
            text = "\n".join([text, *map(_cell_text, chain.from_iterable(rows))])
    return text


def _cell_text(cell: object) -> str:
    if not isinstance(cell, bytes):
        return str(cell)
    with contextlib.suppress(zlib.error):
        cell = zlib.decompress(cell)
    return cell.decode("utf-8", "replace")


class _Heard(logging.Handler):
    """Keeps every log record of any library as text, its arguments and traceback included."""

    def __init__(self, talk: list[str]) -> None:
        super().__init__(logging.NOTSET)
        self._talk = talk

    def emit(self, record: logging.LogRecord) -> None:
        self._talk.append(self.format(record))


_started: list[str] = []
_removed: list[tuple[Path, bytes]] = []
_watching: list[bool] = []
_STARTS: Final = ("subprocess.Popen", "os.exec", "os.posix_spawn", "os.spawn", "os.system")


def _note(event: str, arguments: tuple[Any, ...]) -> None:
    """Note what starts a process, and keep what a file holds that is about to be removed."""
    if not _watching:
        return
    if event in _STARTS:
        _started.append(repr(arguments))
    elif event == "os.remove":
        path = Path(os.fsdecode(arguments[0]))
        with contextlib.suppress(OSError):
            _removed.append((path, path.read_bytes()))


# A hook can't be taken away again; outside a world it notes nothing.
sys.addaudithook(_note)


@pytest.fixture(scope="session")
def world_top(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the one place where worlds lie, one after the other: what is loaded once has one path."""
    return tmp_path_factory.mktemp("canaries") / "world"


@pytest.fixture
def world(world_top: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[World]:
    """Give a world whose home, cache, temporary and working folders are looked through at the end.

    The keys of the well-known words lie in its cache already where an earlier test of the session made
    them: they are looked through like all the rest.
    """
    shutil.rmtree(world_top, ignore_errors=True)
    made, kept = World(world_top), Path(os.environ[VARIABLE])
    shutil.copytree(kept, world_top / "cache")
    monkeypatch.setenv(VARIABLE, str(world_top / "cache"))
    for name in ("inputs", "home", "temporary", "here"):
        (world_top / name).mkdir()
    for variable in ("HOME", "XDG_CACHE_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(variable, str(world_top / "home"))
    monkeypatch.setenv("TMPDIR", str(world_top / "temporary"))
    monkeypatch.setattr(tempfile, "tempdir", None)
    monkeypatch.chdir(world_top / "here")
    _make_once(monkeypatch)
    heard = _Heard(made.talk)
    logging.getLogger().addHandler(heard)
    level = logging.getLogger().level
    logging.getLogger().setLevel(logging.NOTSET)
    _watching.append(True)
    try:
        yield made
    finally:
        _watching.clear()
        shutil.copytree(world_top / "cache", kept, dirs_exist_ok=True)
        logging.getLogger().removeHandler(heard)
        logging.getLogger().setLevel(level)


def _make_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Share between worlds what is the same in all of them, and holds nothing of a record.

    Rulesets, the program of equal tailoring, crosswalks, the keys of words, and the command line. A site's
    file and its list of words are read anew in every run.
    """
    monkeypatch.setattr(choices, "load_ruleset", _load_ruleset)
    monkeypatch.setattr(choices, "make_program", _make_program)
    monkeypatch.setattr(crosswalk, "load_crosswalk", _load_crosswalk)
    monkeypatch.setattr(key_table, "password_to_key", _password_to_key)
    monkeypatch.setattr(typer.testing, "_get_command", _get_command)


_load_crosswalk = lru_cache(crosswalk.load_crosswalk)
_password_to_key = lru_cache(maxsize=8192)(password_to_key)
_get_command = lru_cache(typer.main.get_command)
_rulesets: dict[tuple[bytes, str, tuple[str, ...]], Ruleset] = {}
_programs: list[tuple[tuple[Ruleset, ...], Tailoring, Program]] = []


def _load_ruleset(
    text: bytes, file: str, facts: Mapping[str, Fact], known: Mapping[str, Parameter] | None = None
) -> Ruleset:
    key = text, file, tuple(f"{name} {parameter.value}" for name, parameter in (known or {}).items())
    if key not in _rulesets:
        _rulesets[key] = load_ruleset(text, file, facts, known)
    return _rulesets[key]


def _make_program(rulesets: Sequence[Ruleset], tailoring: Tailoring, facts: Mapping[str, Fact]) -> Program:
    for same, alike, program in _programs:
        if all(map(operator.is_, same, rulesets)) and alike == tailoring:
            return program
    program = make_program(rulesets, tailoring, facts)
    _programs.append((tuple(rulesets), tailoring, program))
    return program


def estate(world: World, *, faults: bool = True) -> Path:
    """Put a folder of marked records in, a card for each form, and faulty ones beside them."""
    for form in FORMS:
        world.put(
            f"estate/{form}.json", orjson.dumps(marked_card(form, f"card-{form}"), option=orjson.OPT_INDENT_2)
        )
        world.put(f"estate/{form}-2.json", orjson.dumps(marked_card(form, f"second-{form}")))
    for name, part in FAULTY.items() if faults else ():
        whole = {"schema": "witnessmark/card-1", "card": {"id": name}, **part}
        world.put(f"estate/faulty-{name}.json", orjson.dumps(whole))
    for name, text in BROKEN.items() if faults else ():
        world.put(f"estate/broken-{name}.json", text.encode())
    return world.inputs / "estate"


ALL: Final = tuple(FORMS)


def telling(kind: type[BaseException], met: list[str] | None = None) -> Callable[..., Any]:
    """Return a function that fails with a message that holds all it was given, as faults of ours may.

    ``met`` gets an entry each time that it is called.
    """

    def fail(*given: Any, **_: Any) -> Any:
        if met is not None:
            met.append(kind.__name__)
        markers = " ".join(core + AROUND for core in CORES.values())
        raise kind(f"{given!r} {markers}")

    return fail


def sources(world: World) -> list[Path]:
    """Put sources of every kind in, sound and faulty, with markers where each has its secrets."""
    core = CORES["/snmp/communities/*/community"]
    sheet = write_sheet([marked_card(form, f"sheet-{form}") for form in FORMS])
    xml = (ROOT / "fixtures/imports/netconf/rfc7407-a2.xml").read_text("utf-8")
    changed = xml.replace("<text-name>public</text-name>", f"<text-name>{core}</text-name>")
    assert changed != xml
    return [
        world.put("record.json", orjson.dumps(marked_card("clear", "card-1"))),
        world.put("cards.csv", sheet.encode()),
        world.put("netconf.xml", changed.encode()),
        world.put("broken.xml", changed.replace("</text-name>", "", 1).encode()),
        world.put("faulty.csv", f"card.id,mail.password\na,{CORE}\nb,clear:\nc,localized:{CORE}\n".encode()),
        world.put("answers.csv", f"pointer,answer\n/card/id,w\n/mail/password,clear:{CORE}\n".encode()),
        world.put("other.json", orjson.dumps(FAULTY["bare"])),
    ]
