"""Canaries: a marker in every secret of the schema, in every form; then every command, in every format.

After each run no marker may stand in what was said, written or left behind, whatever went wrong on
the way: not as it is, and not in hexadecimal, base64, reversed, quoted for a URL, or escaped.
"""

import gzip
import sqlite3
import zlib
from contextlib import closing
from pathlib import Path
from typing import Any, Final

import orjson
import pytest

from auditor.intake.sheet import write_sheet
from auditor.record.pointer import join
from auditor.record.schema import card_schema
from auditor.record.secret_place import located_secrets, secret_places
from auditor.report.drift_formats import DRIFT_FORMATS
from auditor.report.formats import FORMATS
from auditor.report.gate_formats import GATE_FORMATS
from tests.canary_world import (
    ALL,
    AROUND,
    AS_OF,
    CORE,
    CORES,
    FAULTY,
    FORMS,
    World,
    encodings,
    estate,
    given_away,
    laid_open,
    marked_card,
    sources,
    strings,
    telling,
)
from tests.rules.matrix import ROOT


def test_every_secret_of_the_schema_has_its_marker() -> None:
    """A secret that is added to the schema is not tested until it is named here."""
    assert set(CORES) == {join(place.tokens) for place in secret_places()}


def test_every_form_of_a_secret_has_its_markers() -> None:
    """So is a form that is added to the schema; the empty secret has nothing to give away."""
    forms = {name for form in FORMS.values() for name in form("w")}
    of_schema = {name for form in card_schema()["$defs"]["secret"]["oneOf"] for name in form["properties"]}
    assert forms | {"empty"} == of_schema


def test_the_watch_sees_packed_removed_and_stored_texts(world: World) -> None:
    """A marker in a packed file, in a packed cell of a database, in a file that is gone, and the key."""
    here = world.top / "here"
    (here / "a.gz").write_bytes(gzip.compress(CORE.encode()))
    with closing(sqlite3.connect(here / "b.db")) as made:
        made.execute("CREATE TABLE t (c BLOB)")
        made.execute("INSERT INTO t VALUES (?)", [zlib.compress(CORE.encode())])
        made.commit()
    (here / "c").write_text(CORE, "utf-8")
    (here / "c").unlink()
    world.run("seal", "--new-key", world.site_key)
    world.talk.append(f"x{bytes.fromhex(world.site_key.read_text('ascii'))!r}x")
    assert [place for place, _ in world.leaks(ALL)] == ["talk", "here/a.gz", "here/b.db", "here/c"]


def test_no_marker_is_part_of_another() -> None:
    """A marker that is found is surely that of its secret."""
    cores = list(CORES.values())
    assert [(a, b) for a in cores for b in cores if a is not b and a[:6] in b] == []


@pytest.mark.parametrize("form", FORMS)
def test_the_watch_finds_each_marker_in_each_encoding(form: str) -> None:
    """Were a marker given away, these tests would tell, in the midst of other text too."""
    for pointer, core in CORES.items():
        for text in (core, *strings(FORMS[form](core))):
            for written in encodings(text):
                if len(text) > 9:
                    assert pointer in given_away(f"x{written}y", [form])
    assert given_away("nothing at all, 24 characters, sealed, $6$ and {}", [form]) == []


@pytest.mark.parametrize("form", FORMATS)
def test_an_audit_gives_nothing_away(world: World, form: str) -> None:
    """In every format, with records refused for every reason."""
    shown = world.run("audit", estate(world), "--format", form, *AS_OF)
    assert shown.exit_code == 2
    assert shown.stderr.count("faulty-") >= len(FAULTY)
    assert world.leaks(ALL) == []


def test_reports_in_files_give_nothing_away(world: World) -> None:
    """All formats at once, each in its file."""
    written = world.outputs(FORMATS)
    assert world.run("audit", estate(world), *written, "--quiet", *AS_OF).exit_code == 2
    assert len(list((world.top / "reports").iterdir())) == len(FORMATS)
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
    laid = laid_open(here / "history.db", (here / "history.db").read_bytes())
    assert laid.count('"card-') > 0
    assert world.leaks(ALL) == []


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
    monkeypatch.setattr(STAGES[stage], telling(kind))
    output = world.top / "here" / "report.json"
    result = world.run("audit", folder, "--output", output, *AS_OF)
    assert result.exit_code == (130 if kind is KeyboardInterrupt else 3)
    assert not output.exists()
    assert world.leaks(ALL) == []


def test_a_fact_that_fails_gives_nothing_away(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """The result of a rule that erred stands in every report, without the message of the fault."""
    folder = estate(world, faults=False)

    def fail(secret: Any, *_: Any) -> Any:
        raise ValueError(secret["clear"].reveal() if "clear" in secret else repr(secret))

    for name in ("accounts.length_of", "snmp.is_empty", "directory.is_well_known"):
        monkeypatch.setattr(f"auditor.facts.{name}", fail)
    result = world.run("audit", folder, *world.outputs(FORMATS), *AS_OF)
    assert result.exit_code == 1
    assert '"error"' in (world.top / "reports" / "json").read_text("utf-8")
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


def test_an_after_image_gives_nothing_away(world: World) -> None:
    """The records as they would be after a visit: clear secrets are sealed in them."""
    folder, after = estate(world), world.top / "here" / "after.ndjson"
    cards = (folder / "clear.json", folder / "plain-crypt.json", folder / "faulty-bare.json")
    world.run("procedure", *cards, "--after", after, "--from", "192.0.2.9", *AS_OF)
    assert [orjson.loads(line)["card"]["id"] for line in after.read_bytes().splitlines()] == [
        "card-clear",
        "card-plain-crypt",
    ]
    assert world.leaks(ALL) == []


def test_an_import_gives_nothing_away_but_its_records(world: World) -> None:
    """The records hold what the sources hold, by design; nothing else does, faults or not."""
    to = world.top / "records"
    for source in sources(world):
        world.run("import", source, "--to", to, "--replace", "--card-id", "x", "--taken-at", AS_OF[1])
    assert any(CORE in path.read_text("utf-8") for path in to.iterdir())
    assert world.leaks(ALL, exempt=[to]) == []


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
    assert world.leaks(ALL, exempt=[to]) == []


def test_an_audit_of_sources_gives_nothing_away(world: World) -> None:
    """Sources that are imported on the way to the audit."""
    for source in sources(world):
        world.run("audit", source, *AS_OF)
    assert world.leaks(ALL) == []


def test_an_interrupted_import_gives_nothing_away(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped while a record is written, an import leaves no part of it."""
    monkeypatch.setattr("os.fsync", telling(KeyboardInterrupt))
    to = world.top / "records"
    result = world.run("import", *sources(world)[:1], "--to", to)
    assert result.exit_code == 130
    assert list(to.iterdir()) == []
    assert world.leaks(ALL, exempt=[to]) == []


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
    monkeypatch.setattr(stage, telling(kind))
    result = world.run("seal", folder / "clear.json", "--key", key)
    assert result.exit_code in (3, 130)
    assert world.leaks(ALL) == []


def test_a_gate_gives_nothing_away(world: World) -> None:
    """Secrets that change, come, go, and stand in a record that can't be used, on either side."""
    folder = estate(world)
    other = world.inputs / "other"
    for name in FORMS:
        card = marked_card(name, f"card-{name}")
        card["services"]["telnet"] = {"enabled": True}
        world.put(f"other/{name}.json", orjson.dumps(card))
        turned = marked_card(list(FORMS)[list(FORMS).index(name) - 1], f"second-{name}")
        world.put(f"other/{name}-2.json", orjson.dumps(turned))
    for before, after, to in ((folder, other, "forth"), (other, folder, "back")):
        world.run("gate", before, after, *world.outputs(GATE_FORMATS, to), "--hold-at", "low", *AS_OF)
        assert all((world.top / to / form).stat().st_size > 100 for form in GATE_FORMATS)
    assert world.leaks(ALL) == []


@pytest.mark.parametrize("keyed", [True, False])
def test_marks_and_drift_give_nothing_away(world: World, *, keyed: bool) -> None:
    """No mark holds a clear secret, with a key or without; what moved is told without what it was.

    Hashes, localized keys and old tags are kept in marks as sealing keeps them, by design.
    """
    folder = estate(world)
    key = world.inputs / "key"
    world.run("seal", "--new-key", key)
    with_key = ("--key", key) if keyed else ()
    marks = world.top / "marks"
    world.run("mark", folder, "--by", "N. Adeyemi", "--to", marks, *with_key, *AS_OF)
    assert len(list(marks.iterdir())) == 2 * len(FORMS)
    for name in FORMS:
        turned = marked_card(list(FORMS)[list(FORMS).index(name) - 1], f"card-{name}")
        world.put(f"now/{name}.json", orjson.dumps(turned))
    for now, to in ((world.inputs / "now", "moved"), (folder, "same")):
        world.run("drift", now, "--marks", marks, *world.outputs(DRIFT_FORMATS, to), *with_key, *AS_OF)
        assert all((world.top / to / form).stat().st_size > 100 for form in DRIFT_FORMATS)
    kept = [
        path for path in marks.iterdir() if path.stem.split("-", 1)[1] in ("crypt", "localized", "sealed")
    ]
    assert world.leaks(ALL, exempt=kept) == []
