"""Redfish captures from strangers: one clear error, bounded cost, nothing read outside, no secret told."""

import gzip
import io
import json
import random
import sys
import tarfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from auditor.errors import Fault, InputError
from auditor.intake.redfish import looks_like_redfish, read_redfish
from auditor.intake.redfish_capture import LIMITS, MOST_FAULTS, MOST_KEPT_BYTES
from tests.intake.bound import bounded
from tests.intake.redfish_service import FIXTURES, MANAGER, account, packed, protocols, resource, written

MEBIBYTE = 1024 * 1024

_events: list[tuple[str, str]] = []
_watching: list[bool] = []
_NETWORK = ("socket.", "ssl.", "urllib.", "http.", "subprocess.", "os.system", "os.exec", "os.posix_spawn")


def _note(event: str, arguments: tuple[object, ...]) -> None:
    if _watching and (event in ("open", "os.scandir", "os.listdir") or event.startswith(_NETWORK)):
        _events.append((event, str(arguments[0]) if arguments else ""))


sys.addaudithook(_note)


@contextmanager
def watched() -> Iterator[list[tuple[str, str]]]:
    """Give the list of what is opened or connected to inside."""
    _events.clear()
    _watching.append(True)
    try:
        yield _events
    finally:
        _watching.clear()


def faults_of(path: Path, mebibytes: float = 64) -> tuple[Fault, ...]:
    """Return the faults of a capture, having read it within a bound of time and memory."""
    with bounded(seconds=20, mebibytes=mebibytes), pytest.raises(InputError) as caught:
        read_redfish(str(path))
    assert all(fault.file.startswith(str(path)) and fault.remedy for fault in caught.value.faults)
    return caught.value.faults


@pytest.mark.parametrize("name", ["sample", "invented"])
def test_nothing_outside_the_source_is_opened_and_no_connection_made(name: str, tmp_path: Path) -> None:
    """Links in resources lead to other files of the capture, never to a service."""
    for path in (FIXTURES / name, *packed(FIXTURES / name, tmp_path)):
        read_redfish(str(path))  # what the interpreter loads at first use is loaded
        with watched() as seen:
            read_redfish(str(path))
        assert seen
        assert [one for one in seen if not one[1].startswith(str(path))] == []


def test_every_broken_file_is_told(tmp_path: Path) -> None:
    """A capture is mended once: each file that is not JSON has its fault, in the order of names."""
    folder = written(tmp_path, protocols(HostName="card"))
    (folder / "b.json").write_bytes(b'{"a": 1,\n')
    (folder / "a.json").write_bytes(b'{"a": 1, "a": 2}')
    (folder / "c").write_bytes(b"{no")
    places = [(fault.file.removeprefix(f"{folder}/"), fault.line) for fault in faults_of(folder)]
    assert places == [("a.json", 1), ("b.json", 2), ("c", 1)]


def test_files_that_are_no_json_by_name_are_left_alone(tmp_path: Path) -> None:
    """Notes and pictures beside a capture do not spoil it."""
    folder = written(tmp_path, protocols(HostName="card"))
    (folder / "notes.txt").write_bytes(b"{")
    (folder / "README").write_bytes(b"plain")
    (folder / "photo.png").write_bytes(bytes(range(256)))
    assert len(read_redfish(str(folder))) == 1


def test_one_resource_in_two_files_that_differ_is_refused(tmp_path: Path) -> None:
    """Which of two captures of one resource counts is for people to say."""
    folder = written(tmp_path, account(1, UserName="a"), account(1, UserName="b"))
    [fault] = faults_of(folder)
    assert "the two are not alike" in fault.problem
    assert fault.file.endswith("/1.json")


def test_one_resource_in_two_files_alike_is_one(tmp_path: Path) -> None:
    """A file that was saved twice tells nothing new."""
    [card] = read_redfish(str(written(tmp_path, account(1, UserName="a"), account(1, UserName="a"))))
    assert card.lost == ()


def test_deep_nesting_is_refused(tmp_path: Path) -> None:
    """Brackets in brackets end in an error, not in a crash."""
    folder = written(tmp_path, protocols(HostName="card"))
    (folder / "deep.json").write_bytes(b'{"a":' * 100_000 + b"1" + b"}" * 100_000)
    [fault] = faults_of(folder)
    assert fault.problem == "brackets nest deeper than 64 levels"


def test_a_file_too_large_for_a_resource_is_refused(tmp_path: Path) -> None:
    """A resource is a few kilobytes."""
    folder = written(tmp_path, protocols(HostName="card"))
    (folder / "large.json").write_bytes(b'{"a": "' + b"x" * LIMITS.entry_bytes + b'"}')
    [fault] = faults_of(folder)
    assert "the most for one file" in fault.problem


def test_too_many_bytes_of_settings_are_refused(tmp_path: Path) -> None:
    """Many large resources of a card cost no more than the limit."""
    padding = "x" * (MEBIBYTE + 1)
    many = [account(number, UserName="a", Padding=padding) for number in range(MOST_KEPT_BYTES // MEBIBYTE)]
    [fault] = faults_of(written(tmp_path, *many), mebibytes=96)
    assert "of settings" in fault.problem


def test_too_many_faults_are_cut_short(tmp_path: Path) -> None:
    """Thousands of broken files do not make thousands of messages."""
    folder = tmp_path / "capture"
    folder.mkdir()
    for number in range(MOST_FAULTS + 50):
        (folder / f"{number}.json").write_bytes(b"{")
    assert len(faults_of(folder)) == MOST_FAULTS


@pytest.mark.parametrize(
    "body",
    [
        {"Members": [{}] * 200_000},
        {"NameServers": ["x"] * 200_000},
        {"SNMP": {"CommunityStrings": [{"AccessMode": "Full"}] * 30_000}},
        {f"m{number}": number for number in range(60_000)},
    ],
    ids=["members", "servers", "communities", "unmapped"],
)
def test_a_resource_full_of_members_costs_no_more_than_its_size(
    tmp_path: Path, body: dict[str, object]
) -> None:
    """Long lists and many members stay within seconds, and within the limits of a record."""
    interface = resource(f"{MANAGER}/EthernetInterfaces/1", "EthernetInterface", **body)
    folder = written(tmp_path, protocols(**body), interface)
    with bounded(seconds=20, mebibytes=200), suppress(InputError):
        [card] = read_redfish(str(folder))
        assert len(card.unmapped) <= 10_000


def _bomb() -> bytes:
    target = io.BytesIO()
    with tarfile.open(fileobj=target, mode="w:gz") as archive:
        for number in range(40):
            member = tarfile.TarInfo(f"{number}.json")
            member.size = 2 * MEBIBYTE
            archive.addfile(member, io.BytesIO(b"[" + b" " * (2 * MEBIBYTE - 2) + b"]"))
    return target.getvalue()


def test_a_bomb_is_refused(tmp_path: Path) -> None:
    """JSON of blanks that packs a thousand to one is refused before it is all unpacked."""
    (tmp_path / "capture.tar.gz").write_bytes(_bomb())
    [fault] = faults_of(tmp_path / "capture.tar.gz")
    assert "times its size" in fault.problem
    with bounded(seconds=20, mebibytes=64):
        assert not looks_like_redfish(str(tmp_path / "capture.tar.gz"))


def test_a_path_that_climbs_out_is_refused(tmp_path: Path) -> None:
    """An archive with such a name is not read, whatever else it holds."""
    with zipfile.ZipFile(tmp_path / "capture.zip", "w") as archive:
        archive.writestr("../../card.json", json.dumps(protocols(HostName="card")))
    [fault] = faults_of(tmp_path / "capture.zip")
    assert "path with .." in fault.problem


def test_a_link_to_a_file_outside_is_refused(tmp_path: Path) -> None:
    """What a link leads to is never part of a capture."""
    (tmp_path / "outside.json").write_text(json.dumps(account(2, UserName="outside")))
    folder = written(tmp_path, protocols(HostName="card"))
    (folder / "in.json").symlink_to(tmp_path / "outside.json")
    [fault] = faults_of(folder)
    assert "a link" in fault.problem


@pytest.mark.parametrize("which", [0, 1])
def test_a_cut_off_archive_is_an_error(tmp_path: Path, which: int) -> None:
    """No part of a capture passes for the whole."""
    path = packed(FIXTURES / "invented", tmp_path)[which]
    whole = path.read_bytes()
    for size in range(100, len(whole), len(whole) // 40):
        path.write_bytes(whole[:size])
        faults_of(path)


def test_a_damaged_archive_is_an_error_or_a_card(tmp_path: Path) -> None:
    """Any byte may be wrong: no run ends in a traceback."""
    path = packed(FIXTURES / "invented", tmp_path)[0]
    whole = path.read_bytes()
    chance = random.Random(11)  # noqa: S311 - no secret
    for _ in range(100):
        spoilt = bytearray(whole)
        spoilt[chance.randrange(len(spoilt))] = chance.randrange(256)
        path.write_bytes(spoilt)
        with suppress(InputError):
            read_redfish(str(path))


def test_packed_json_is_no_capture(tmp_path: Path) -> None:
    """A resource packed by itself is no tar."""
    (tmp_path / "a.json.gz").write_bytes(gzip.compress(json.dumps(protocols(HostName="a")).encode()))
    assert not looks_like_redfish(str(tmp_path / "a.json.gz"))
    [fault] = faults_of(tmp_path / "a.json.gz")
    assert fault.problem.startswith("no tar archive")


def test_no_secret_stands_in_an_error(tmp_path: Path) -> None:
    """Neither a broken text nor two resources that differ have their values told."""
    secret = "tide-41-Gate"  # noqa: S105 - invented
    clear = {"CommunityStrings": [{"CommunityString": secret}]}
    folder = written(tmp_path, protocols(SNMP=clear), protocols(SNMP={}))
    (folder / "b.json").write_text('{"CommunityString": "' + secret + '" x')
    assert secret not in "".join(str(fault) for fault in faults_of(folder))
