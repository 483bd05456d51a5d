"""``witnessmark seal``: keys, files of all kinds, what is left behind, and the check for a hook."""

import gzip
import json
import os
import stat
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from auditor.cli.main import app
from auditor.record.reading import read_record
from tests.record.mutations import COMPLIANT, compliant


def run(*arguments: object) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, ["seal", *map(str, arguments)])


@pytest.fixture
def key(tmp_path: Path) -> Path:
    """Return the file of a new key, apart from the records."""
    file = tmp_path / "keys" / "site.key"
    file.parent.mkdir()
    assert run("--new-key", file).exit_code == 0
    return file


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """Return a folder with a record in each kind of file."""
    folder = tmp_path / "records"
    (folder / "north").mkdir(parents=True)
    (folder / "a.json").write_bytes(text_of("a"))
    (folder / "north" / "b.json.gz").write_bytes(gzip.compress(text_of("b")))
    (folder / "c.ndjson").write_bytes(lines_of("c1", "c2"))
    (folder / "d.ndjson.gz").write_bytes(gzip.compress(lines_of("d1", "d2")))
    return folder


def text_of(name: str, indent: int | None = 2) -> bytes:
    """Return the compliant card under another id."""
    card = compliant()
    card["card"]["id"] = name
    return json.dumps(card, indent=indent).encode()


def lines_of(*names: str) -> bytes:
    """Return compliant cards, one a line."""
    return b"".join(text_of(name, indent=None) + b"\n" for name in names)


def content(path: Path) -> bytes:
    """Return what a file holds, unpacked."""
    return gzip.decompress(path.read_bytes()) if path.name.endswith(".gz") else path.read_bytes()


def files(folder: Path) -> list[Path]:
    """Return every file below a folder, hidden ones included."""
    return sorted(path for path in folder.rglob("*") if path.is_file())


def test_a_folder_that_can_not_be_made_is_a_fault_of_the_call(records: Path, key: Path) -> None:
    """A file stands in its place: exit code 2 and what to do, no fault of ours."""
    taken = records / "taken"
    taken.write_bytes(b"")
    result = run(records / "a.json", "--key", key, "--to", taken)
    assert result.exit_code == 2
    assert result.stderr == f"{taken}: can't be written: file exists\n  Choose another place.\n"


def test_a_new_key_is_for_its_owner_alone(key: Path) -> None:
    """It holds 32 random bytes in hexadecimal digits, and no second one takes its place."""
    assert stat.S_IMODE(key.stat().st_mode) == 0o600
    assert len(bytes.fromhex(key.read_text("ascii"))) == 32
    before = key.read_bytes()
    result = run("--new-key", key)
    assert (result.exit_code, key.read_bytes()) == (2, before)
    assert "there already" in result.stderr


def test_a_key_that_others_may_read_is_refused(key: Path, records: Path) -> None:
    """Nothing is sealed, and the remedy is said, with nothing of the key."""
    key.chmod(0o640)
    before = (records / "a.json").read_bytes()
    result = run(records, "--key", key)
    assert (result.exit_code, (records / "a.json").read_bytes()) == (2, before)
    assert "chmod 600" in result.stderr
    assert key.read_text("ascii").strip() not in result.output


@pytest.mark.parametrize("text", ["", "xyz", "ab" * 31, "ab" * 33, "ab" * 32 + "\nmore"])
def test_a_file_that_holds_no_key_is_refused(tmp_path: Path, records: Path, text: str) -> None:
    """A short, long or strange key seals nothing, and is not repeated."""
    file = tmp_path / "odd.key"
    file.write_text(text, "ascii")
    file.chmod(0o600)
    result = run(records, "--key", file)
    assert result.exit_code == 2
    assert "64 hexadecimal digits" in result.stderr
    assert not text or text not in result.output


def test_records_of_every_kind_are_sealed_in_place(records: Path, key: Path) -> None:
    """No file holds a clear secret any more, each is valid, and no other file is left beside them."""
    before = [path.relative_to(records) for path in files(records)]
    assert run("--check", records).exit_code == 1
    assert run(records, "--key", key).exit_code == 0
    assert run("--check", records).exit_code == 0
    assert [path.relative_to(records) for path in files(records)] == before
    texts = [line for path in files(records) for line in _records_in(path)]
    assert len(texts) == 6
    assert not any(read_record(text, "x").holds_clear for text in texts)


def _records_in(path: Path) -> list[bytes]:
    return content(path).splitlines() if ".ndjson" in path.name else [content(path)]


def test_a_sealed_record_is_written_for_people(records: Path, key: Path) -> None:
    """A record keeps its order and an indent of two: a comparison shows the secrets and nothing else."""
    before = (records / "a.json").read_text("utf-8").splitlines()
    run(records / "a.json", "--key", key)
    after = (records / "a.json").read_text("utf-8").splitlines()
    gone = [line.strip() for line in before if line not in after]
    assert [line for line in gone if not line.startswith('"clear": ')] == []


def test_sealing_again_leaves_every_file_alone(records: Path, key: Path) -> None:
    """What holds no clear secret is not written again."""
    run(records, "--key", key)
    before = [(path.stat().st_ino, path.stat().st_mtime_ns) for path in files(records)]
    result = run(records, "--key", key)
    assert result.exit_code == 0
    assert result.stderr.count("nothing to seal") == 4
    assert [(path.stat().st_ino, path.stat().st_mtime_ns) for path in files(records)] == before


def test_sealed_copies_go_to_another_folder(records: Path, key: Path, tmp_path: Path) -> None:
    """The originals stay; the copies lie below the folder as the originals do."""
    before = [content(path) for path in files(records)]
    to = tmp_path / "sealed"
    assert run(records, "--key", key, "--to", to).exit_code == 0
    assert [content(path) for path in files(records)] == before
    assert [p.relative_to(to) for p in files(to)] == [p.relative_to(records) for p in files(records)]
    assert run("--check", to).exit_code == 0


def test_two_cards_share_a_tag_where_they_share_a_secret(records: Path, key: Path) -> None:
    """The same key gives the same tag in every file, so reuse is still seen."""
    run(records, "--key", key)
    cards = [json.loads(text) for path in files(records) for text in _records_in(path)]
    assert len({card["accounts"][0]["password"]["sealed"]["tag"] for card in cards}) == 1


def test_a_record_that_cannot_be_used_is_left_alone(records: Path, key: Path) -> None:
    """Its file is not touched, the others are sealed, and the run ends with exit code 2."""
    bad = records / "bad.ndjson"
    bad.write_bytes(text_of("x", indent=None) + b'\n{"schema": "witnessmark/card-1"}\n')
    before = bad.read_bytes()
    result = run(records, "--key", key)
    assert (result.exit_code, bad.read_bytes()) == (2, before)
    assert "bad.ndjson:2" in result.stderr
    assert run("--check", records / "a.json").exit_code == 0


def test_a_file_keeps_its_permissions(records: Path, key: Path) -> None:
    """What was for its owner alone stays so."""
    (records / "a.json").chmod(0o600)
    run(records / "a.json", "--key", key)
    assert stat.S_IMODE((records / "a.json").stat().st_mode) == 0o600


def test_the_check_names_file_line_and_pointer(records: Path) -> None:
    """Every clear secret is told with its place, never with its value."""
    result = run("--check", records / "a.json")
    line = next(
        n for n, text in enumerate(content(records / "a.json").decode().splitlines(), 1) if '"clear"' in text
    )
    assert result.exit_code == 1
    assert f"a.json:{line - 1}:" in result.stdout
    assert "/accounts/0/password: a clear secret" in result.stdout
    assert result.stdout.count("a clear secret") == COMPLIANT.read_bytes().count(b'"clear"')
    assert "violet" not in result.output


def test_the_check_sees_clear_text_in_a_crypt_text(tmp_path: Path, key: Path) -> None:
    """``$0$`` marks clear text (RFC 7317); alone it is the empty secret, which is none to hide."""
    card = compliant()
    card["accounts"][0]["password"] = {"crypt": "$0$m4rker"}
    card["accounts"][1]["password"] = {"crypt": "$0$"}
    file = tmp_path / "card.json"
    file.write_text(json.dumps(card), "utf-8")
    assert "/accounts/0/password:" in run("--check", file).stdout
    assert "/accounts/1/password:" not in run("--check", file).stdout
    assert run(file, "--key", key).exit_code == 0
    assert b"m4rker" not in file.read_bytes()


def test_the_check_finds_secrets_in_faulty_records_and_passes_other_json(tmp_path: Path) -> None:
    """A record that no audit would take may hold secrets all the same; JSON of another kind may not."""
    (tmp_path / "faulty.json").write_text(
        '{"card": {"id": 5}, "mail": {"password": {"clear": "m4rker"}}}', "utf-8"
    )
    (tmp_path / "package.json").write_text('{"scripts": {"clear": "remove all"}}', "utf-8")
    result = run("--check", tmp_path)
    assert result.exit_code == 1
    assert "faulty.json:1:" in result.stdout
    assert "package.json" not in result.output
    assert "m4rker" not in result.output


def test_the_check_says_what_it_could_not_look_into(tmp_path: Path) -> None:
    """Broken JSON is neither good nor bad: exit code 2, with its place."""
    (tmp_path / "broken.json").write_text('{"card": ', "utf-8")
    result = run("--check", tmp_path)
    assert result.exit_code == 2
    assert "broken.json:1:" in result.stderr


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["a.json"],
        ["--check"],
        ["--key", "k"],
        ["a.json", "--check", "--to", "b"],
        ["a.json", "--check", "--key", "k"],
        ["--new-key", "k", "a.json"],
    ],
)
def test_a_call_that_asks_for_nothing_or_too_much_is_refused(arguments: list[str]) -> None:
    """Exit code 2, and the error says what to give."""
    result = CliRunner().invoke(app, ["seal", *arguments], env={"COLUMNS": "300"})
    assert result.exit_code == 2
    assert "--new-key" in result.stderr


def test_standard_input_is_refused(key: Path) -> None:
    """There is nothing to write a sealed record back to."""
    assert run("-", "--key", key).exit_code == 2


def test_an_interrupted_sealing_leaves_the_record_as_it_was(
    records: Path, key: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file is replaced whole or not at all, and nothing is left beside it."""

    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    before = [(path, path.read_bytes()) for path in files(records)]
    monkeypatch.setattr(os, "fsync", interrupt)
    assert run(records, "--key", key).exit_code == 130
    assert [(path, path.read_bytes()) for path in files(records)] == before
