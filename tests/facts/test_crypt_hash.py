"""Password hashes in crypt form: schemes, grades, and words tried with bounded work."""

import shutil
import subprocess
from datetime import UTC, datetime

import bcrypt
import pytest

from auditor.facts import accounts, crypt_hash
from auditor.facts.crypt_hash import MOST_BCRYPT_COST, MOST_SHA_ROUNDS, opens_with, scheme_of
from auditor.facts.fact import Context, Settings

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC), hash_words=("admin",))
# Made by openssl passwd (OpenSSL 3.0), each of the word admin.
MADE = {
    "md5": "$1$Qz81mTbe$EQ5I/HX3i.wUNP/gm0waE/",
    "sha512": (
        "$6$Qz81mTbe$BpHpivWpooiQ4WOEbI/Yz58YM6c0xxX0kp/gNenTEUhwVRJfW5Fm.QT8tQ2wLaCdqfzdiROQC48Bv.wZv3BLq."
    ),
}


@pytest.mark.parametrize(
    ("crypt", "name", "grade", "cost"),
    [
        (MADE["md5"], "md5", "weak", 0),
        (MADE["sha512"], "sha512", "acceptable", 5000),
        ("$5$rounds=20000$salt$" + "a" * 43, "sha256", "acceptable", 20000),
        ("$6$rounds=1000$salt$" + "a" * 86, "sha512", "weak", 1000),
        ("$6$salt$cut", "sha512", "acceptable", 5000),
        ("$5$", "sha256", "acceptable", 0),
        ("$2b$12$" + "a" * 53, "bcrypt", "strong", 12),
        ("$2y$05$" + "a" * 53, "bcrypt", "acceptable", 5),
        ("$2b$", "bcrypt", "strong", 0),
        ("$y$j9T$salt$hash", "yescrypt", "strong", 0),
    ],
)
def test_a_scheme_is_known_by_its_mark_and_graded(crypt: str, name: str, grade: str, cost: int) -> None:
    """Source: RFC 7317, module iana-crypt-hash ($1$, $5$, $6$); the other marks: common practice."""
    scheme = scheme_of(crypt)
    assert scheme is not None
    assert (scheme.name, scheme.grade, scheme.cost) == (name, grade, cost)


@pytest.mark.parametrize("crypt", ["$0$clear", "$q$salt$hash", "plain", "", "$"])
def test_clear_text_and_unknown_marks_have_no_scheme(crypt: str) -> None:
    """RFC 7317: $0$ is clear text; what is not known is not guessed."""
    assert scheme_of(crypt) is None
    assert opens_with(crypt, ["clear"]) is None


@pytest.mark.parametrize("crypt", MADE.values(), ids=MADE)
def test_the_right_word_opens_a_hash_and_no_other_does(crypt: str) -> None:
    """Hashes made by another program are opened by their word only."""
    assert opens_with(crypt, ["root", "admin"]) is True
    assert opens_with(crypt, ["root", "Admin", ""]) is False


@pytest.mark.skipif(shutil.which("openssl") is None, reason="the command openssl is not installed")
@pytest.mark.parametrize("method", ["1", "5", "6"])
@pytest.mark.parametrize("word", ["changeme", "pässword", "a", "x" * 60])
def test_hashes_agree_with_openssl(method: str, word: str) -> None:
    """A second implementation makes the hash; ours finds the word again, and no other."""
    command = ["openssl", "passwd", f"-{method}", "-salt", "Qz81mTbe", word]
    crypt = subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip()  # noqa: S603
    assert opens_with(crypt, [word]) is True
    assert opens_with(crypt, [word + "x"]) is False


def test_bcrypt_is_tried_up_to_a_cost() -> None:
    """A cheap hash is tried; a dear one is left alone, and so is one of an unknown variant."""
    cheap = bcrypt.hashpw(b"admin", bcrypt.gensalt(4)).decode()
    assert opens_with(cheap, ["root", "admin"]) is True
    assert opens_with(cheap, ["root", "x" * 100]) is False
    assert opens_with(f"$2b${MOST_BCRYPT_COST + 1}${cheap[7:]}", ["admin"]) is None
    assert opens_with(cheap.replace("$2b$", "$2x$"), ["admin"]) is None


@pytest.mark.parametrize("rounds", [999, MOST_SHA_ROUNDS + 1, 100_000, 656_000, 999_999_999])
def test_a_hash_with_too_many_or_too_few_rounds_is_not_tried(
    rounds: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Work is bounded by what the hash itself says, before anything is computed."""
    monkeypatch.setattr(crypt_hash, "_opens", lambda *_: pytest.fail("tried"))
    digest = MADE["sha512"].rpartition("$")[2]
    assert opens_with(f"$6$rounds={rounds}$Qz81mTbe${digest}", ["admin"]) is None


@pytest.mark.parametrize(
    "crypt",
    ["$6$salt$tooshort", "$1$salt$x", "$2b$10$short", "$5$" + "s" * 40 + "$" + "a" * 43, "$y$j9T$s$h"],
)
def test_a_hash_that_is_not_whole_is_not_tried(crypt: str) -> None:
    """What no maker of hashes wrote stays unknown, without a fault."""
    assert opens_with(crypt, ["admin"]) is None


def test_words_that_no_hash_can_hold_are_passed_over() -> None:
    """A name with a zero character, which hashing refuses, is no fault of the audit."""
    assert opens_with(MADE["md5"], ["a\0b"]) is False


def hashed(count: int, name: str = "r.osei") -> Settings:
    """Return a record of so many accounts, each with the hash of the word admin."""
    return {"accounts": [{"name": name, "password": {"crypt": MADE["md5"]}} for _ in range(count)]}


def test_the_short_list_and_the_accounts_own_name_are_tried() -> None:
    """A hash opens with a word of the context, or with the name; without words none is tried."""
    record, nobody = hashed(1), Context(CONTEXT.as_of, hash_words=())
    fact = accounts.password_hash_opens_with_default
    assert fact(record["accounts"][0], record, CONTEXT) is True
    other = Context(CONTEXT.as_of, hash_words=("root",))
    assert fact(record["accounts"][0], record, other) is False
    named = hashed(1, "admin")
    assert fact(named["accounts"][0], named, other) is True
    assert fact(record["accounts"][0], record, nobody) is None


def test_only_the_first_hashes_of_a_card_are_tried() -> None:
    """The work on one card is bounded, however many accounts it has."""
    record = hashed(20)
    said = [
        accounts.password_hash_opens_with_default(account, record, CONTEXT) for account in record["accounts"]
    ]
    assert said == [True] * 16 + [None] * 4


@pytest.mark.parametrize(
    ("secret", "is_hashed", "grade"),
    [
        (None, None, None),
        ({"crypt": MADE["md5"]}, True, "weak"),
        ({"crypt": "$0$clear"}, False, None),
        ({"crypt": "$q$x"}, True, None),
        ({"clear": "x"}, False, None),
        ({"sealed": {}}, False, None),
    ],
)
def test_a_record_tells_whether_it_holds_a_hash(
    secret: Settings | None,
    is_hashed: bool | None,
    grade: str | None,
) -> None:
    """Only a crypt text that is no clear text is a hash; others have no grade."""
    account = {"name": "a"} if secret is None else {"name": "a", "password": secret}
    assert accounts.password_is_hashed(account, {}, CONTEXT) is is_hashed
    assert accounts.password_hash_grade(account, {}, CONTEXT) == grade
