"""Canaries: a marker in every secret of the schema, in every form; then every command, in every format.

After each run no marker may stand in what was said, written or left behind, whatever went wrong on
the way: not as it is, and not in hexadecimal, base64, reversed, quoted for a URL, or escaped.
"""

import base64
import gzip
import html
import json
import logging
import sqlite3
import sys
import tempfile
import traceback
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote, quote_plus

import orjson
import pytest
from typer.testing import CliRunner, Result

from auditor.cli.main import app
from auditor.intake.sheet import write_sheet
from auditor.record.pointer import join
from auditor.record.secret_place import located_secrets, secret_places
from auditor.report.formats import FORMATS
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


def test_every_secret_of_the_schema_has_its_marker() -> None:
    """A secret that is added to the schema is not tested until it is named here."""
    assert set(CORES) == {join(place.tokens) for place in secret_places()}


def test_no_marker_is_part_of_another() -> None:
    """A marker that is found is surely that of its secret."""
    cores = list(CORES.values())
    assert [(a, b) for a in cores for b in cores if a is not b and a[:6] in b] == []


def _encodings(text: str) -> Iterator[str]:
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
        texts = {core, *(str(value) for value in _strings(FORMS[form](core)))}
        texts = {core, core + AROUND} if form == "clear" else {text for text in texts if len(text) > 9}
        found += [(sign.lower(), pointer) for text in texts for sign in _encodings(text)]
    return tuple(dict.fromkeys(found))


def _strings(value: Any) -> Iterator[str]:
    for inner in value.values():
        if isinstance(inner, dict):
            yield from _strings(inner)
        elif isinstance(inner, str):
            yield inner


def given_away(text: str, forms: Sequence[str]) -> list[str]:
    """Return the secrets of which a text holds a marker."""
    low = text.lower()
    return sorted({pointer for form in forms for sign, pointer in _signs(form) if sign in low})


@pytest.mark.parametrize("form", FORMS)
def test_the_watch_finds_each_marker_in_each_encoding(form: str) -> None:
    """Were a marker given away, these tests would tell, in the midst of other text too."""
    for pointer, core in CORES.items():
        for text in (core, *_strings(FORMS[form](core))):
            for written in _encodings(text):
                if len(text) > 9:
                    assert pointer in given_away(f"x{written}y", [form])
    assert given_away("nothing at all, 24 characters, sealed, $6$ and {}", [form]) == []


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
    """Give a world whose home, cache, temporary and working folders are looked through at the end."""
    made = World(tmp_path)
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
        made.talk += _started
        _started.clear()
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


@pytest.mark.parametrize("form", FORMATS)
def test_an_audit_gives_nothing_away(world: World, form: str) -> None:
    """In every format, to standard output and to a file, with records refused for every reason."""
    folder = estate(world)
    shown = world.run("audit", folder, "--format", form, *AS_OF)
    world.run("audit", folder, "--format", form, "--output", world.top / "here" / "report", "--quiet", *AS_OF)
    assert shown.exit_code == 2
    assert shown.stderr.count("faulty-") >= len(FAULTY)
    assert world.leaks(ALL) == []


def test_an_audit_of_one_card_gives_nothing_away(world: World) -> None:
    """The table of a single card is another one than that of an estate."""
    folder = estate(world)
    for form in FORMS:
        assert world.run("audit", folder / f"{form}.json", *AS_OF).exit_code == 1
    assert world.leaks(ALL) == []


def test_standard_input_gives_nothing_away(world: World) -> None:
    """A stream of records, the last of which is cut off."""
    lines = [orjson.dumps(marked_card(form, f"card-{form}")) for form in FORMS]
    world.run("audit", "-", *AS_OF, stdin=b"\n".join([*lines, lines[0][:900]]))
    assert world.leaks(ALL) == []


def test_sweeps_and_their_history_give_nothing_away(world: World) -> None:
    """Not the store, its packed results laid open, not the cache beside it, and no history of them."""
    folder, here = estate(world), world.top / "here"
    for day in ("2026-11-25", "2026-11-26"):
        world.run("sweep", folder, "--store", here / "history.db", "--as-of", day)
    world.run("history", "merge", here / "history.db", "--to", here / "other.db")
    for name in ("history.html", "history.json", "history.csv", "history.txt"):
        world.run("history", "--store", here / "other.db", "--output", here / name)
    for form in ("sweeps-csv", "cards-csv", "table"):
        world.run("history", "--store", here / "other.db", "--format", form)
    connection = sqlite3.connect(here / "history.db")
    packed = connection.execute("SELECT content FROM body").fetchall()
    connection.close()
    assert len(packed) == 2 * len(FORMS)
    (here / "unpacked.txt").write_bytes(b"\n".join(zlib.decompress(content) for (content,) in packed))
    assert world.leaks(ALL) == []


def _telling(kind: type[BaseException]) -> Callable[..., Any]:
    """Return a function that fails with a message that holds all it was given, as faults of ours may."""

    def fail(*given: Any, **_: Any) -> Any:
        markers = " ".join(core + AROUND for core in CORES.values())
        raise kind(f"{given!r} {markers}")

    return fail


STAGES: Final = {
    "reading": "auditor.intake.records.read_record",
    "rule": "auditor.rules.program.evaluate",
    "assessment": "auditor.fleet.audit.assess",
    "reuse": "auditor.fleet.reuse.Reuse.add",
    "sums": "auditor.fleet.estate.EstateSums.summary",
    "writer": "auditor.report.result_summary.Totals.document",
}


@pytest.mark.parametrize("kind", [RuntimeError, KeyboardInterrupt, MemoryError])
@pytest.mark.parametrize("stage", STAGES)
def test_a_fault_in_any_stage_gives_nothing_away(
    world: World, monkeypatch: pytest.MonkeyPatch, stage: str, kind: type[BaseException]
) -> None:
    """A fault whose message is full of secrets, and an interrupt, leave no trace of them."""
    folder = estate(world, faults=False)
    monkeypatch.setattr(STAGES[stage], _telling(kind))
    output = world.top / "here" / "report.json"
    result = world.run("audit", folder, "--output", output, *AS_OF)
    assert result.exit_code == (130 if kind is KeyboardInterrupt else 3)
    assert not output.exists()
    assert world.leaks(ALL) == []


@pytest.mark.parametrize("form", FORMATS)
def test_a_fact_that_fails_gives_nothing_away(
    world: World, monkeypatch: pytest.MonkeyPatch, form: str
) -> None:
    """The result of a rule that erred stands in the report, without the message of the fault."""
    folder = estate(world, faults=False)

    def fail(secret: Any, *_: Any) -> Any:
        raise ValueError(secret["clear"].reveal() if "clear" in secret else repr(secret))

    for name in ("accounts.length_of", "snmp.is_empty", "directory.is_well_known"):
        monkeypatch.setattr(f"auditor.facts.{name}", fail)
    result = world.run("audit", folder, "--format", form, *AS_OF)
    assert result.exit_code == 1
    assert world.leaks(ALL) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
@pytest.mark.parametrize("form", FORMATS)
def test_a_writer_that_fails_gives_nothing_away(world: World, form: str) -> None:
    """The disk is full: said in words, and nothing is left behind."""
    folder = estate(world)
    result = world.run("audit", folder, "--format", form, "--output", "/dev/full", *AS_OF)
    assert result.exit_code == 2
    assert world.leaks(ALL) == []


@pytest.mark.parametrize(
    "arguments", [["rules"], ["rules", "show", "password-short"], ["--help"], ["--version"]]
)
def test_commands_on_rules_give_nothing_away(world: World, arguments: list[str]) -> None:
    """They read no records, wherever they are called."""
    estate(world)
    world.run(*arguments)
    assert world.leaks(ALL) == []


@pytest.mark.parametrize("form", ["html", "markdown", "csv"])
def test_a_worksheet_gives_nothing_away(world: World, form: str) -> None:
    """What a record knows is left out of its form, or said to be known."""
    folder = estate(world)
    for name in FORMS:
        world.run("worksheet", folder / f"{name}.json", "--format", form)
    world.run("worksheet", folder / "faulty-bare.json", "--format", form)
    assert world.leaks(ALL) == []


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


def test_an_import_gives_nothing_away_but_its_records(world: World) -> None:
    """The records hold what the sources hold, by design; nothing else does, faults or not."""
    to = world.top / "records"
    for source in sources(world):
        world.run("import", source, "--to", to, "--replace", "--card-id", "x", "--taken-at", AS_OF[1])
    assert any(CORE in path.read_text("utf-8") for path in to.iterdir())
    assert world.leaks(ALL, exempt=list(to.iterdir())) == []


def test_sources_that_contradict_each_other_give_nothing_away(world: World) -> None:
    """Two sources tell another secret of one card: both are named, neither secret is."""
    one = world.put("one.json", orjson.dumps(marked_card("clear", "card-1")))
    other = marked_card("clear", "card-1")
    for located in located_secrets(other):
        located.secret["clear"] = located.secret["clear"][::-1]
    two = world.put("two.csv", write_sheet([other]).encode())
    to = world.top / "records"
    result = world.run("import", one, two, "--to", to)
    assert "told differently" in result.output
    assert world.leaks(ALL, exempt=list(to.iterdir())) == []


def test_an_audit_of_sources_gives_nothing_away(world: World) -> None:
    """Sources that are imported on the way to the audit."""
    for source in sources(world):
        world.run("audit", source, *AS_OF)
    assert world.leaks(ALL) == []


def test_an_interrupted_import_gives_nothing_away(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped while a record is written, an import leaves no part of it."""
    monkeypatch.setattr("os.fsync", _telling(KeyboardInterrupt))
    result = world.run("import", *sources(world)[:1], "--to", world.top / "records")
    assert result.exit_code == 130
    assert world.leaks(ALL) == []


def test_maps_give_nothing_away(world: World) -> None:
    """A draft names the settings of a sample, not their values; so does a check, sound or not."""
    sample = {
        "unit": {"tag": "card-1", "caption": "UPS"},
        "snmp": {"read": {"community": CORES["/snmp/communities/*/community"] + AROUND}},
        "mail": {"password": CORES["/mail/password"]},
        "users": [{"name": "a", "password": CORE + AROUND}],
    }
    path = world.put("sample.json", orjson.dumps(sample))
    draft = world.run("map", "draft", path)
    made = world.put("map.toml", draft.stdout.encode())
    chosen = ROOT / "fixtures/imports/maps/card-family-c.toml"
    for file in (made, chosen, path):
        world.run("map", "check", file, "--sample", path)
    world.run("map", "draft", world.put("cut.json", orjson.dumps(sample)[:-20]))
    assert "password" in draft.stdout
    assert world.leaks(ALL) == []


def test_a_capture_gives_nothing_away_but_its_record(world: World) -> None:
    """Secrets that are typed, refused or known already are never repeated; the record is the only place."""
    card = marked_card("clear", "card-1")
    del card["mail"]["password"]
    record = world.put("card.json", orjson.dumps(card))
    core = CORES["/mail/password"]
    typed = world.run("capture", record, "--resume", stdin=f"{core}\nclear\n{core}\nback\n?\nstop\n".encode())
    refused = world.run("capture", record, "--resume", stdin=b"stop\n")
    assert core in record.read_text("utf-8")
    assert typed.exit_code == refused.exit_code == 0
    assert world.leaks(ALL, exempt=[record]) == []


def test_sealing_gives_nothing_away(world: World) -> None:
    """Neither what it says nor the sealed records hold a clear secret, in place and elsewhere."""
    folder = estate(world)
    key = world.inputs / "key"
    world.run("seal", "--new-key", key)
    world.run("seal", "--check", folder)
    packed = world.put("estate/packed.ndjson.gz", gzip.compress(orjson.dumps(marked_card("clear", "packed"))))
    world.run("seal", folder, "--key", key, "--to", world.top / "sealed")
    world.run("seal", folder, "--key", key)
    assert packed.read_bytes() != world.given[packed]
    assert len(list((world.top / "sealed").iterdir())) == 2 * len(FORMS) + 1
    clear = ("clear", "plain-crypt")
    exempt = [path for path in world.top.rglob("*") if path.name.startswith(("crypt", "localized", "sealed"))]
    assert world.leaks(clear, exempt) == []
    assert world.run("seal", "--check", folder / "clear.json", folder / "plain-crypt.json").exit_code == 0


@pytest.mark.parametrize(
    "stage", ["auditor.fleet.seal_files.seal", "auditor.fleet.seal_files.read_record", "os.fsync"]
)
@pytest.mark.parametrize("kind", [RuntimeError, KeyboardInterrupt])
def test_a_fault_while_sealing_gives_nothing_away(
    world: World, monkeypatch: pytest.MonkeyPatch, stage: str, kind: type[BaseException]
) -> None:
    """A file is replaced whole or stays; no part of it is left beside it, and nothing is repeated."""
    folder = estate(world, faults=False)
    key = world.inputs / "key"
    world.run("seal", "--new-key", key)
    monkeypatch.setattr(stage, _telling(kind))
    result = world.run("seal", folder / "clear.json", "--key", key)
    assert result.exit_code in (3, 130)
    assert world.leaks(ALL) == []
