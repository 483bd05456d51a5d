"""Canaries for every command there is: each in all its formats, and with a fault in each of its stages.

The table is held against the command line itself: a command that is added fails these tests until
it has a row, and a row gives it records with a marker in every secret, whole and faulty, and a
site's list of words that holds markers too.
"""

import zlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import orjson
import pytest
import typer

from auditor.cli.main import app
from auditor.facts.localized_key import localize, password_to_key
from auditor.report.formats import FORMATS
from tests.canary_world import (
    ALL,
    AROUND,
    AS_OF,
    BROKEN,
    CORE,
    CORES,
    FAULTY,
    FORMS,
    World,
    marked_card,
    sources,
    telling,
)
from tests.rules.matrix import ROOT


@dataclass(frozen=True)
class Row:
    """How a command is run in a world: its arguments, what is typed, and what may hold secrets by design."""

    arguments: tuple[object, ...]
    typed: bytes = b""
    exempt: tuple[Path, ...] = ()


def _folder(world: World) -> Path:
    """Put in one record for each form of a secret, one that is sound and well known, and all faulty ones."""
    for form in FORMS:
        world.put(f"estate/{form}.json", orjson.dumps(marked_card(form, f"card-{form}")))
    world.put("estate/site-word.json", orjson.dumps(_card_of_site_word()))
    for name, part in FAULTY.items():
        whole = {"schema": "witnessmark/card-1", "card": {"id": name}, **part}
        world.put(f"estate/faulty-{name}.json", orjson.dumps(whole))
    for name, text in BROKEN.items():
        world.put(f"estate/broken-{name}.json", text.encode())
    return world.inputs / "estate"


ENGINE: Final = "800002b804616263"


def _card_of_site_word() -> dict[str, object]:
    """Return a card whose localized key is that of a word of the site: it is found, and still not told."""
    key = localize(password_to_key(CORE.encode(), "sha1"), bytes.fromhex(ENGINE), "sha1").hex()
    user = {
        "name": "m",
        "enabled": True,
        "level": "authNoPriv",
        "auth_protocol": "sha1",
        "auth_secret": {"localized": key},
    }
    snmp = {"enabled": True, "versions": ["v3"], "engine_id": ENGINE, "users": [user]}
    return {"schema": "witnessmark/card-1", "card": {"id": "card-site-word"}, "snmp": snmp}


def _site(world: World) -> Path:
    """Put in a site's file whose list of words holds every marker."""
    words = [word for core in CORES.values() for word in (core, core + AROUND)]
    world.put("own-words.txt", "\n".join(words).encode())
    return world.put("witnessmark.toml", b'[site]\nword_list = "own-words.txt"\n')


_PREPARED: Final[dict[Callable[[World], Row], tuple[Row, World]]] = {}


def prepared(world: World, name: str, rows: Mapping[str, Callable[[World], Row]]) -> Row:
    """Lay a world out for a command; what comes before it is done once, and copied from then on."""
    make = rows[name]
    if make in _PREPARED:
        row, kept = _PREPARED[make]
        world.take_over(kept)
        return row
    row = make(world)
    _PREPARED[make] = row, world.keep(world.top.parent / f"{len(_PREPARED)}")
    return row


def _audit(world: World) -> Row:
    return Row(("audit", _folder(world), "--site", _site(world), *AS_OF))


def _sweep(world: World) -> Row:
    store = world.top / "here" / "history.db"
    return Row(("sweep", _folder(world), "--store", store, "--site", _site(world), *AS_OF))


def _gate(world: World) -> Row:
    before = world.put(
        "before.ndjson", b"\n".join(orjson.dumps(marked_card(form, f"card-{form}")) for form in FORMS)
    )
    return Row(("gate", before, _folder(world), "--site", _site(world), "--hold-at", "low", *AS_OF))


def _marks(world: World) -> Row:
    """Mark the cards; what is no clear secret stands in a mark as it stood in the record."""
    folder, key, to = _folder(world), world.inputs / "key", world.top / "marks"
    world.run("seal", "--new-key", key)
    kept = tuple(to / f"card-{form}.json" for form in ("crypt", "localized", "sealed", "site-word"))
    words = ("mark", folder, "--by", "N. Adeyemi", "--key", key, "--to", to, "--site", _site(world), *AS_OF)
    return Row(words, exempt=kept)


def _drift(world: World) -> Row:
    marked = _marks(world)
    world.run(*marked.arguments)
    world.put("estate/clear.json", orjson.dumps(marked_card("plain-crypt", "card-clear")))
    words = ("drift", _folder(world), "--marks", world.top / "marks", "--site", _site(world), *AS_OF)
    return Row(words, exempt=marked.exempt)


def _swept(world: World) -> Path:
    """Sweep the records into a history."""
    row = _sweep(world)
    world.run(*row.arguments)
    return Path(str(row.arguments[row.arguments.index("--store") + 1]))


def _history(world: World) -> Row:
    return Row(("history", "--store", _swept(world)))


def _history_merge(world: World) -> Row:
    return Row(("history", "merge", _swept(world), "--to", world.top / "here" / "merged.db"))


def _import(world: World) -> Row:
    to = world.top / "records"
    options = ("--card-id", "x", "--taken-at", AS_OF[1], "--site", _site(world), "--replace")
    return Row(("import", *sources(world), "--to", to, *options), exempt=(to,))


def _capture(world: World) -> Row:
    card = marked_card("clear", "card-1")
    del card["mail"]["password"]
    record = world.put("card.json", orjson.dumps(card))
    typed = CORES["/mail/password"]
    return Row(
        ("capture", record, "--resume"), f"{typed}\nclear\n{typed}\nback\n?\nstop\n".encode(), (record,)
    )


def _worksheet(world: World) -> Row:
    return Row(("worksheet", _folder(world) / "clear.json"))


def _procedure(world: World) -> Row:
    """Plan a visit of every card; an after-image holds what is no clear secret as the records did."""
    return _visit_of(world, _folder(world))


def _short_procedure(world: World) -> Row:
    """Plan a visit of the cards that a fault can meet, since planning takes long, with all faulty records."""
    folder = _folder(world)
    for form in ("plain-crypt", "crypt", "sealed"):
        (folder / f"{form}.json").unlink()
    return _visit_of(world, folder)


def _visit_of(world: World, folder: Path) -> Row:
    after = world.top / "here" / "after.ndjson"
    words = ("procedure", folder, "--site", _site(world), "--from", "192.0.2.9", "--after", after)
    return Row((*words, *AS_OF), exempt=(after,))


def _handover(world: World) -> Row:
    """Write the papers of a visit of every sound card, one of them with a mark that it has left."""
    marked = _marks(world)
    world.run(*marked.arguments)
    world.put("estate/clear.json", orjson.dumps(marked_card("plain-crypt", "card-clear")))
    sound = [world.inputs / f"estate/{name}.json" for name in (*FORMS, "site-word")]
    words = ("handover", *sound, "--site", _site(world), "--from", "192.0.2.9")
    folders = ("--marks", world.top / "marks", "--output", world.top / "here" / "pack", "--replace")
    return Row((*words, *folders, *AS_OF), exempt=marked.exempt)


def _seal(world: World) -> Row:
    folder, key = _folder(world), world.inputs / "key"
    world.run("seal", "--new-key", key)
    # What is no clear secret is not sealed, and stands in the copy as it stood in the record.
    kept = tuple(
        world.top / "sealed" / f"{form}.json" for form in ("crypt", "localized", "sealed", "site-word")
    )
    return Row(
        ("seal", folder, "--key", key, "--to", world.top / "sealed", "--site", _site(world)), exempt=kept
    )


def _map_draft(world: World) -> Row:
    return Row(("map", "draft", world.put("sample.json", _sample())))


def _map_check(world: World) -> Row:
    chosen = ROOT / "fixtures/imports/maps/card-family-c.toml"
    return Row(("map", "check", chosen, "--sample", world.put("sample.json", _sample())))


def _sample() -> bytes:
    community = CORES["/snmp/communities/*/community"] + AROUND
    users = [{"name": "a", "password": CORE + AROUND}]
    return orjson.dumps(
        {"unit": {"tag": "card-1"}, "snmp": {"read": {"community": community}}, "users": users}
    )


def _rules(world: World) -> Row:
    return Row(("rules", "--site", _site(world)))


def _rules_show(world: World) -> Row:
    return Row(("rules", "show", "password-well-known", "--site", _site(world)))


def _rules_check(world: World) -> Row:
    return Row(("rules", "check", _site(world)))


ROWS: Final[Mapping[str, Callable[[World], Row]]] = {
    "audit": _audit,
    "sweep": _sweep,
    "gate": _gate,
    "mark": _marks,
    "drift": _drift,
    "history": _history,
    "history merge": _history_merge,
    "import": _import,
    "capture": _capture,
    "worksheet": _worksheet,
    "procedure": _procedure,
    "handover": _handover,
    "seal": _seal,
    "map draft": _map_draft,
    "map check": _map_check,
    "rules": _rules,
    "rules show": _rules_show,
    "rules check": _rules_check,
}

WITHOUT_RECORDS: Final = ("map draft", "map check", "rules", "rules show", "rules check")
"""Commands that read no record: no fault of a record's stages can meet them."""

ROWS_WITH_FAULTS: Final[Mapping[str, Callable[[World], Row]]] = {
    **{name: row for name, row in ROWS.items() if name not in WITHOUT_RECORDS},
    "procedure": _short_procedure,
}


def commands() -> dict[str, Any]:
    """Return every command by its words; a group that does something by itself is one too."""
    return dict(_below(typer.main.get_command(app), ()))


def _below(command: Any, words: tuple[str, ...]) -> Iterator[tuple[str, Any]]:
    """Yield a command, or those of a group; typer brings the classes of both along, unnamed."""
    inner = getattr(command, "commands", {})
    if words and (not inner or command.invoke_without_command):
        yield " ".join(words), command
    for name, each in inner.items():
        yield from _below(each, (*words, name))


COMMANDS: Final = commands()


def _runs() -> Iterator[tuple[str, str]]:
    """Yield every command with each of its formats; without any, once."""
    for name, command in COMMANDS.items():
        option = next((each for each in command.params if "--format" in each.opts), None)
        named = getattr(getattr(option, "type", None), "choices", ())
        choices: Sequence[Any] = list(named or (FORMATS if option else ("",)))
        for form in choices:
            yield name, str(getattr(form, "value", form))


def test_every_command_has_its_row() -> None:
    """A command that is added is not tested until it has a row here."""
    assert set(ROWS) == set(COMMANDS)


@pytest.mark.parametrize(("name", "form"), list(_runs()))
def test_a_command_gives_nothing_away(world: World, name: str, form: str) -> None:
    """In each format, with records whole and faulty: nothing said, left or kept holds a marker."""
    row = prepared(world, name, ROWS)
    result = world.run(*row.arguments, *(("--format", form) if form else ()), stdin=row.typed)
    assert result.exit_code in (0, 1, 2), result.output
    assert world.leaks(ALL, row.exempt) == []


FAULTS: Final[Mapping[str, tuple[str, type[BaseException]]]] = {
    "reading-fails": ("auditor.record.reading.conceal", RuntimeError),
    "reading-interrupted": ("auditor.record.reading.conceal", KeyboardInterrupt),
    "rule-fails": ("auditor.rules.program.evaluate", RuntimeError),
    "keys-fail": ("auditor.facts.localized_key.place_of_key", RuntimeError),
    "writer-fails": ("os.fsync", OSError),
    "writer-interrupted": ("os.fsync", KeyboardInterrupt),
}
"""A fault in each stage; its message holds all that the stage was given, and every marker."""

_JUDGING: Final = ("rule-fails", "keys-fail")


TO_A_FILE: Final = ("audit", "sweep", "gate", "drift", "history", "worksheet")
"""Commands that write to standard output: here they write a file, so that a writer's faults meet them."""

UNMET: Final = {
    *((name, fault) for name in ("history", "history merge") for fault in FAULTS),
    *((name, fault) for name in ("mark", "drift", "seal", "capture", "worksheet") for fault in _JUDGING),
    ("import", "keys-fail"),
} - {("history", "writer-fails"), ("history", "writer-interrupted")}
"""Faults that a command can't meet: it reads no record, or judges none by the rule or the key."""


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("name", ROWS_WITH_FAULTS)
def test_a_command_that_fails_gives_nothing_away(
    world: World, monkeypatch: pytest.MonkeyPatch, name: str, fault: str
) -> None:
    """Wherever a run breaks off, by a fault of ours, of the disk or of the user's hand."""
    row = prepared(world, name, ROWS_WITH_FAULTS)
    target, kind = FAULTS[fault]
    met: list[str] = []
    monkeypatch.setattr(target, telling(kind, met))
    form = {"worksheet": "csv"}.get(name, "json")
    options = ("--format", form, "--output", world.top / "here" / "report") if name in TO_A_FILE else ()
    world.run(*row.arguments, *options, stdin=row.typed)
    assert bool(met) is ((name, fault) not in UNMET)
    assert not (fault.startswith("writer") and (world.top / "here" / "report").exists())
    assert world.leaks(ALL, row.exempt) == []


@pytest.mark.parametrize("kind", [RuntimeError, KeyboardInterrupt, zlib.error])
@pytest.mark.parametrize("name", ["history", "history merge"])
def test_a_fault_in_the_store_gives_nothing_away(
    world: World, monkeypatch: pytest.MonkeyPatch, name: str, kind: type[BaseException]
) -> None:
    """A history that can't be read tells nothing of what was asked of it."""
    row = prepared(world, name, ROWS)
    met: list[str] = []
    with monkeypatch.context() as patched:
        patched.setattr("zlib.decompress", telling(kind, met))
        result = world.run(*row.arguments)
    assert met
    assert result.exit_code in (2, 3, 130)
    assert world.leaks(ALL, row.exempt) == []


def test_each_fault_meets_a_command(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """The faults are real ones: an audit ends by the first three, and writing a report by the last two."""
    row = _audit(world)
    report = ("--format", "csv", "--output", world.top / "here" / "report.csv")
    for fault, codes in (
        ("reading-fails", {3}),
        ("reading-interrupted", {130}),
        ("writer-fails", {2}),
        ("writer-interrupted", {130}),
    ):
        target, kind = FAULTS[fault]
        with monkeypatch.context() as patched:
            patched.setattr(target, telling(kind))
            assert world.run(*row.arguments, *report).exit_code in codes, fault
    assert world.leaks(ALL) == []


def test_no_option_takes_a_secret() -> None:
    """What stands on the command line stands in the list of processes: nothing there asks for a secret."""
    asked = {name for command in COMMANDS.values() for each in command.params for name in each.opts}
    assert [
        name for name in asked if any(word in name for word in ("pass", "secret", "community", "token"))
    ] == []
    assert "--key" in asked  # the name of a file
