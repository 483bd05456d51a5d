"""What the canary tests share: a marker in every secret of the schema, and a world that is looked through."""

import base64
import gzip
import html
import json
import logging
import os
import shutil
import sys
import tempfile
import traceback
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote, quote_plus

import orjson
import pytest
from typer.testing import CliRunner, Result

from auditor.cli.cache import VARIABLE
from auditor.cli.main import app
from auditor.intake.sheet import write_sheet
from auditor.record.pointer import join
from auditor.record.secret_place import located_secrets
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


@cache
def _signs(form: str) -> tuple[tuple[str, str], ...]:
    """Return what would give a marker away, with the secret that it belongs to."""
    found = []
    for pointer, core in CORES.items():
        texts = {core, *(str(value) for value in strings(FORMS[form](core)))}
        texts = {core, core + AROUND} if form == "clear" else {text for text in texts if len(text) > 9}
        found += [(sign.lower(), pointer) for text in texts for sign in encodings(text)]
    return tuple(dict.fromkeys(found))


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
    return sorted({pointer for form in forms for sign, pointer in _signs(form) if sign in low})


def marked_card(form: str, card_id: str) -> dict[str, Any]:
    """Return a record with every member of the schema, and a marker in every secret."""
    card = hostile_card("text")
    card["card"]["id"] = card_id
    for located in list(located_secrets(card)):
        pointer = join("*" if isinstance(token, int) else token for token in located.tokens)
        located.secret.clear()
        located.secret.update(FORMS[form](CORES[pointer]))
    return card


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
        _started.clear()
        if result.exc_info is not None:
            self.talk.append("".join(traceback.format_exception(*result.exc_info)))
        return result

    def left(self, exempt: Sequence[Path] = ()) -> Iterator[tuple[Path, str]]:
        """Yield every file below the top but what went in unchanged and what is exempt, with its name."""
        for path in sorted(self.top.rglob("*")):
            if path.is_file() and path not in exempt:
                content = path.read_bytes()
                if self.given.get(path) != content:
                    content = gzip.decompress(content) if path.name.endswith(".gz") else content
                    yield path, f"{path.name}\n{content.decode('utf-8', 'replace')}"

    def leaks(self, forms: Sequence[str], exempt: Sequence[Path] = ()) -> list[tuple[str, list[str]]]:
        """Return where markers were given away, and of which secrets."""
        places = [("talk", text) for text in self.talk]
        places += [(str(path.relative_to(self.top)), text) for path, text in self.left(exempt)]
        found = [(place, given_away(text, forms)) for place, text in places]
        return [(place, secrets) for place, secrets in found if secrets]


class _Heard(logging.Handler):
    """Keeps every log record of any library as text, its arguments and traceback included."""

    def __init__(self, talk: list[str]) -> None:
        super().__init__(logging.NOTSET)
        self._talk = talk

    def emit(self, record: logging.LogRecord) -> None:
        self._talk.append(self.format(record))


_started: list[str] = []
_watching: list[bool] = []


def _note(event: str, arguments: object) -> None:
    if _watching and event in ("subprocess.Popen", "os.exec", "os.posix_spawn", "os.spawn", "os.system"):
        _started.append(repr(arguments))


# A hook can't be taken away again; outside a world it notes nothing.
sys.addaudithook(_note)


@pytest.fixture
def world(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[World]:
    """Give a world whose home, cache, temporary and working folders are looked through at the end.

    The keys of the well-known words lie in its cache already where an earlier test of the session made
    them: they are looked through like all the rest.
    """
    made, kept = World(tmp_path), Path(os.environ[VARIABLE])
    shutil.copytree(kept, tmp_path / "cache")
    monkeypatch.setenv(VARIABLE, str(tmp_path / "cache"))
    for name in ("inputs", "home", "temporary", "here"):
        (tmp_path / name).mkdir()
    for variable in ("HOME", "XDG_CACHE_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(variable, str(tmp_path / "home"))
    monkeypatch.setenv("TMPDIR", str(tmp_path / "temporary"))
    monkeypatch.setattr(tempfile, "tempdir", None)
    monkeypatch.chdir(tmp_path / "here")
    heard = _Heard(made.talk)
    logging.getLogger().addHandler(heard)
    level = logging.getLogger().level
    logging.getLogger().setLevel(logging.NOTSET)
    _watching.append(True)
    try:
        yield made
    finally:
        _watching.clear()
        shutil.copytree(tmp_path / "cache", kept, dirs_exist_ok=True)
        logging.getLogger().removeHandler(heard)
        logging.getLogger().setLevel(level)


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


def telling(kind: type[BaseException]) -> Callable[..., Any]:
    """Return a function that fails with a message that holds all it was given, as faults of ours may."""

    def fail(*given: Any, **_: Any) -> Any:
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
