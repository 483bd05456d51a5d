"""Keys of the well-known words, kept in a folder: made once, private, and never trusted blindly."""

import os
import pickle
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import pytest

from auditor.facts.localized_key import PROTOCOLS, password_to_key
from auditor.fleet import key_table
from auditor.fleet.context import context_of_run
from auditor.fleet.key_table import KeyStore, KeyTable, spellings
from auditor.rules.word_list import NO_WORDS, read_word_list

WORDS = ("public", "admin")
SPELLED = (b"ADMIN", b"Admin", b"PUBLIC", b"Public", b"admin", b"public")
SHA1 = tuple(password_to_key(word, "sha1") for word in SPELLED)


def file_in(folder: Path) -> Path:
    """Return the file of the words' SHA-1 keys."""
    file = KeyTable(WORDS, KeyStore(folder)).file_of("sha1")
    assert file is not None
    return file


def test_keys_are_those_of_the_words_in_order() -> None:
    """Without a folder the keys are made and kept in memory only."""
    table = KeyTable(WORDS)
    assert table["sha1"] == SHA1
    assert table["sha1"] is table["sha1"]
    assert table.file_of("sha1") is None
    assert (list(table), len(table)) == (list(PROTOCOLS), 6)
    assert KeyTable([])["md5"] == ()


def test_a_protocol_that_there_is_not_has_no_keys() -> None:
    """It is a mapping like any other."""
    with pytest.raises(KeyError):
        KeyTable(WORDS)["none"]
    assert KeyTable(WORDS).get("none") is None


def test_nothing_is_made_before_it_is_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A run over records without localized keys pays nothing."""
    monkeypatch.setattr(key_table, "password_to_key", lambda *_: pytest.fail("made"))
    KeyTable(WORDS, KeyStore(tmp_path))
    assert list(tmp_path.iterdir()) == []


def test_the_second_run_makes_one_key_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It reads the file, and makes the first key again to see that the file is right."""
    assert KeyTable(WORDS, KeyStore(tmp_path / "new" / "folder"))["sha1"] == SHA1
    made: list[bytes] = []

    def counted(word: bytes, protocol: str) -> bytes:
        made.append(word)
        return password_to_key(word, protocol)

    monkeypatch.setattr(key_table, "password_to_key", counted)
    assert KeyTable(reversed(WORDS), KeyStore(tmp_path / "new" / "folder"))["sha1"] == SHA1
    assert made == [b"ADMIN"]


def test_other_words_and_protocols_have_other_files(tmp_path: Path) -> None:
    """The name holds a digest of all that the content depends on."""
    files = {
        KeyTable(words, KeyStore(tmp_path)).file_of(protocol)
        for words in (WORDS, ("public",), ("publica", "dmin"), ())
        for protocol in PROTOCOLS
    }
    assert len(files) == 4 * len(PROTOCOLS)


@pytest.mark.skipif(os.name != "posix", reason="rights on files are those of POSIX")
def test_the_file_is_its_owners_only(tmp_path: Path) -> None:
    """Readable and writable by the user alone, and nothing else is left in the folder."""
    assert KeyTable(WORDS, KeyStore(tmp_path))["sha1"] == SHA1
    file = file_in(tmp_path)
    assert file.stat().st_mode & 0o777 == 0o600
    assert list(tmp_path.iterdir()) == [file]


def test_the_file_holds_no_word_in_clear(tmp_path: Path) -> None:
    """Neither its name nor its content spells a word."""
    assert KeyTable(WORDS, KeyStore(tmp_path))["sha1"] == SHA1
    content = file_in(tmp_path).read_bytes()
    assert b"public" not in content
    assert b"admin" not in content


@pytest.mark.parametrize("damage", ["cut", "empty", "changed key", "changed head", "longer"])
def test_a_damaged_file_is_made_anew(tmp_path: Path, damage: str) -> None:
    """Whatever happened to the file, the keys are right, and so is the file afterwards."""
    assert KeyTable(WORDS, KeyStore(tmp_path))["sha1"] == SHA1
    file = file_in(tmp_path)
    right = file.read_bytes()
    damaged = {
        "cut": right[:-1],
        "empty": b"",
        "changed key": right[:-1] + bytes([right[-1] ^ 1]),
        "changed head": b"X" + right[1:],
        "longer": right + b"\0",
    }
    file.write_bytes(damaged[damage])
    assert KeyTable(WORDS, KeyStore(tmp_path))["sha1"] == SHA1
    assert file.read_bytes() == right


def test_a_file_of_other_words_under_this_name_is_made_anew(tmp_path: Path) -> None:
    """A whole file that holds other keys is found out by the first of them."""
    other = KeyTable(("quartz", "zephyr"), KeyStore(tmp_path))
    assert len(other["sha1"]) == len(SHA1)
    named = other.file_of("sha1")
    assert named is not None
    named.replace(file_in(tmp_path))
    assert KeyTable(WORDS, KeyStore(tmp_path))["sha1"] == SHA1


@pytest.mark.skipif(os.name != "posix", reason="rights on files are those of POSIX")
def test_a_file_that_others_may_write_is_not_read(tmp_path: Path) -> None:
    """Somebody else may have put keys into it: it is made anew, and private again."""
    assert KeyTable(WORDS, KeyStore(tmp_path))["sha1"] == SHA1
    file_in(tmp_path).chmod(0o666)
    assert KeyTable(WORDS, KeyStore(tmp_path))["sha1"] == SHA1
    assert file_in(tmp_path).stat().st_mode & 0o777 == 0o600


def test_a_folder_that_can_not_be_written_to_is_no_error(tmp_path: Path) -> None:
    """Then nothing is kept, and the keys are made for this run."""
    blocked = tmp_path / "file"
    blocked.write_text("no folder")
    assert KeyTable(WORDS, KeyStore(blocked))["sha1"] == SHA1
    assert KeyTable(WORDS, KeyStore(blocked / "below"))["sha1"] == SHA1


def test_a_failed_write_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file gets its name whole, or there is none."""

    def fails(*_: object) -> Path:
        raise OSError("full")

    monkeypatch.setattr(Path, "replace", fails)
    assert KeyTable(WORDS, KeyStore(tmp_path))["sha1"] == SHA1
    assert list(tmp_path.iterdir()) == []


def test_a_table_goes_to_other_processes() -> None:
    """Workers may be handed the table as it is."""
    assert pickle.loads(pickle.dumps(KeyTable(WORDS)))["sha1"] == SHA1  # noqa: S301 - our own


def test_words_are_spelled_as_people_set_them() -> None:
    """As it is, lower case, capitalised, and in capitals."""
    assert spellings(["public", "1234"]) == {"public", "Public", "PUBLIC", "1234"}
    assert spellings(["siteKey"]) == {"siteKey", "sitekey", "Sitekey", "SITEKEY"}


def test_a_site_s_own_words_are_tried_and_never_kept(tmp_path: Path) -> None:
    """Their keys come last, under every protocol in the same place, and no file holds them."""
    own = read_word_list(b"siteKey", "words.txt")
    keys = context_of_run(datetime.now(UTC), own, KeyStore(tmp_path)).word_keys
    shipped = context_of_run(datetime.now(UTC), NO_WORDS, KeyStore(tmp_path)).word_keys
    spelled = (b"SITEKEY", b"Sitekey", b"siteKey", b"sitekey")
    for protocol in ("sha1", "md5"):
        made = tuple(password_to_key(word, protocol) for word in spelled)
        assert keys[protocol] == shipped[protocol] + made
        assert keys[protocol] is keys[protocol]
        assert not any(key in path.read_bytes() for path in tmp_path.iterdir() for key in made)
    assert len(list(tmp_path.iterdir())) == 2
    assert (list(keys), len(keys)) == (list(PROTOCOLS), 6)


def test_somebody_may_watch_the_keys_being_made(tmp_path: Path) -> None:
    """All words of a protocol go by once; from the file, none does."""
    seen: list[tuple[int, str]] = []

    def watch(words: Sequence[bytes], protocol: str) -> Sequence[bytes]:
        seen.append((len(words), protocol))
        return words

    for _ in range(2):
        assert KeyTable(WORDS, KeyStore(tmp_path, watch))["sha1"] == SHA1
    assert seen == [(6, "sha1")]


def test_two_writers_at_once_leave_one_whole_file(tmp_path: Path) -> None:
    """Each writes a file of its own and renames it: the last one stands, whole."""
    with ThreadPoolExecutor(4) as pool:
        tables = [KeyTable(WORDS, KeyStore(tmp_path)) for _ in range(8)]
        assert list(pool.map(lambda table: table["sha1"], tables)) == [SHA1] * 8
    assert list(tmp_path.iterdir()) == [file_in(tmp_path)]
    assert KeyTable(WORDS, KeyStore(tmp_path))["sha1"] == SHA1
