"""Reuse of secrets and keys across cards: every group, with its loads, and nothing of the secret."""

import random
from base64 import b64encode
from itertools import groupby
from operator import itemgetter
from typing import Any

import orjson
import pytest

from auditor.facts.fact import Context
from auditor.facts.localized_key import localize, password_to_key
from auditor.facts.sealing import KEY_OCTETS, seal
from auditor.facts.words import well_known_words
from auditor.fleet import key_table, seen
from auditor.fleet.key_table import KeyTable
from auditor.fleet.passphrases import passphrases_in
from auditor.fleet.reuse import Reuse
from auditor.fleet.seen import Seen
from auditor.record.reading import Record, read_record
from auditor.record.secret_place import KINDS
from auditor.scoring.band import Band
from auditor.scoring.shared_secret import SHARED_KINDS, SharedSecret
from tests.rules.matrix import AS_OF

HEX = "0f" * 32
PASSWORD = {"clear": "m4rker-one"}


def card(card_id: str, feeds: str = "", **sections: Any) -> Record:
    """Return a record of a card with some sections."""
    equipment = {"equipment": {"feeds": feeds}} if feeds else {}
    whole = {"schema": "witnessmark/card-1", "card": {"id": card_id}, **equipment, **sections}
    return read_record(orjson.dumps(whole), f"{card_id}.json")


def account(secret: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the section of one account."""
    return [{"name": "a", "password": secret}]


def shared(*records: Record) -> tuple[SharedSecret, ...]:
    """Return what some records share."""
    reuse = Reuse()
    assert list(reuse.watch(records)) == list(records)
    return reuse.shared()


def found(*records: Record) -> list[tuple[str, str, tuple[str, ...]]]:
    """Return kind, form and cards of what some records share."""
    return [(one.kind, one.form, one.card_ids) for one in shared(*records)]


@pytest.mark.parametrize(
    ("secret", "form"),
    [
        (PASSWORD, "clear"),
        ({"sealed": {"tag": "ab" * 32, "key": "ab" * 8}}, "tag"),
        ({"sealed": {"tag": "ab" * 32}}, "tag"),
        ({"crypt": "$6$salt$hash"}, "crypt"),
        ({"localized": "AB" * 20}, "localized"),
    ],
)
def test_cards_with_the_same_secret_are_a_group(secret: dict[str, Any], form: str) -> None:
    """Whatever the form of the secret, it is seen to be the same."""
    records = [card(name, accounts=account(secret)) for name in ("a", "b", "c")]
    assert found(*records) == [("password", form, ("a", "b", "c"))]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (PASSWORD, {"clear": "another"}),
        ({"empty": True}, {"empty": True}),
        ({"crypt": "$0$"}, {"empty": True}),
        ({"sealed": {"length": 8}}, {"sealed": {"length": 8}}),
        ({"sealed": {"tag": "ab" * 32, "key": "ab" * 8}}, {"sealed": {"tag": "ab" * 32, "key": "cd" * 8}}),
        ({"crypt": "$6$salt$hash"}, {"crypt": "$6$other$hash"}),
        ({"localized": "ab" * 20}, {"clear": "localized " + "ab" * 20}),
    ],
)
def test_what_is_not_surely_the_same_is_no_group(one: dict[str, Any], other: dict[str, Any]) -> None:
    """Other secrets, empty ones, tags of two keys and hashes of two salts are not put together."""
    assert found(card("a", accounts=account(one)), card("b", accounts=account(other))) == []


def test_one_card_alone_is_no_group() -> None:
    """The same password for two accounts of one card is a matter of that card."""
    assert found(card("a", accounts=account(PASSWORD) * 2)) == []


def test_kinds_are_not_compared_with_each_other() -> None:
    """A community that is a password elsewhere goes unseen, as it does where both are sealed."""
    communities = {"communities": [{"name": "r", "community": PASSWORD}]}
    assert found(card("a", accounts=account(PASSWORD)), card("b", snmp=communities)) == []


def test_a_secret_in_clear_text_of_two_ways_is_one() -> None:
    """``$0$`` marks clear text (RFC 7317): the card that exports it so is found too."""
    records = card("a", accounts=account(PASSWORD)), card("b", accounts=account({"crypt": "$0$m4rker-one"}))
    assert found(*records) == [("password", "clear", ("a", "b"))]


def test_keys_are_known_by_their_fingerprints() -> None:
    """A certificate and a host key are the same whatever way their fingerprint is written."""
    colons = ":".join(HEX[at : at + 2].upper() for at in range(0, 64, 2))
    base64 = b64encode(bytes.fromhex(HEX)).decode().rstrip("=")
    one = card("a", tls={"certificate": {"fingerprint_sha256": HEX}}, ssh=_host_key(HEX))
    other = card("b", tls={"certificate": {"fingerprint_sha256": colons}}, ssh=_host_key(base64))
    both = ("a", "b")
    assert found(one, other) == [("certificate", "fingerprint", both), ("ssh_host_key", "fingerprint", both)]


def _host_key(fingerprint: str) -> dict[str, Any]:
    return {"host_keys": [{"algorithm": "ssh-ed25519", "fingerprint_sha256": fingerprint}]}


def test_a_group_names_its_loads_and_is_as_severe_as_the_worst() -> None:
    """Cards are counted by load; life-safety and critical ones are named; the severity is theirs."""
    loads = ("lab", "", "critical", "life_safety")
    records = [card(f"c{n}", feeds, accounts=account(PASSWORD)) for n, feeds in enumerate(loads)]
    (group,) = shared(*records)
    assert (group.cards, dict(group.feeds)) == (4, dict.fromkeys(loads, 1))
    assert (group.weighty_ids, group.weighty) == (("c2", "c3"), 2)
    assert "CDP:H" in group.severity.vector
    assert group.band is Band.HIGH


def test_a_large_group_keeps_the_first_cards_only() -> None:
    """However many cards share it, 20 are named and all are counted."""
    (group,) = shared(*(card(f"c{n:03}", accounts=account(PASSWORD)) for n in range(50)))
    assert (group.cards, group.card_ids) == (50, tuple(f"c{n:03}" for n in range(20)))


def test_the_groups_are_those_of_a_plain_comparison() -> None:
    """Over random cards the groups are exactly those that sorting all secrets gives."""
    dice = random.Random(7)  # noqa: S311 - made-up data
    rows = [
        (f"c{n:03}", [f"word-{dice.randrange(150)}" for _ in range(dice.randrange(4))]) for n in range(100)
    ]
    records = [card(name, accounts=[*(account({"clear": t})[0] for t in words)]) for name, words in rows]
    pairs = sorted({(word, name) for name, words in rows for word in words})
    groups = [[name for _, name in group] for _, group in groupby(pairs, key=itemgetter(0))]
    expected = sorted(tuple(names[:20]) for names in groups if len(names) > 1)
    assert sorted(ids for _, _, ids in found(*records)) == expected


def test_sealed_cards_are_grouped_as_the_clear_ones() -> None:
    """One site's key lets equal secrets be seen as equal, without the secrets."""
    context = Context(AS_OF, well_known_words())
    clear = [card(name, accounts=account(PASSWORD)) for name in ("a", "b")]
    sealed = [orjson.dumps(seal(record.settings, bytes(KEY_OCTETS), context)) for record in clear]
    assert found(*(read_record(text, "x") for text in sealed)) == [("password", "tag", ("a", "b"))]


def snmp_user(word: str, engine: str, *, protocol: str = "sha1", form: str = "localized") -> dict[str, Any]:
    """Return the section of an SNMPv3 user whose key was made of a word on an engine."""
    key = localize(password_to_key(word.encode(), protocol), bytes.fromhex(engine), protocol).hex()
    secret = {"localized": key} if form == "localized" else {"clear": word}
    user = {"name": "m", "level": "authNoPriv", "auth_protocol": protocol, "auth_secret": secret}
    return {"engine_id": engine, "users": [user]}


KEYS = KeyTable(["public", "tankhouse"])
BY_WORD = passphrases_in(Context(AS_OF, word_keys=KEYS))


def found_by_word(*records: Record) -> list[tuple[str, str, tuple[str, ...]]]:
    """Return what records share where the keys of two words are known."""
    reuse = Reuse(BY_WORD)
    assert list(reuse.watch(records)) == list(records)
    return [(one.kind, one.form, one.card_ids) for one in reuse.shared()]


def test_one_passphrase_behind_keys_of_several_engines_is_a_group() -> None:
    """Keys that differ by engine and even by hash are one secret once their word is found."""
    records = (
        card("a", snmp=snmp_user("tankhouse", "8000000001")),
        card("b", snmp=snmp_user("tankhouse", "8000000002")),
        card("c", snmp=snmp_user("tankhouse", "8000000003", protocol="md5")),
        card("d", snmp=snmp_user("public", "8000000004")),
        card("e", snmp=snmp_user("a word that nobody lists", "8000000001")),
        card("f", snmp=snmp_user("a word that nobody lists", "8000000002")),
    )
    assert found_by_word(*records) == [("snmp_passphrase", "passphrase", ("a", "b", "c"))]
    assert found(*records) == []


def test_a_key_whose_word_is_not_found_is_compared_as_it_is() -> None:
    """Two cards of one engine id and passphrase hold the same key, whatever the passphrase is."""
    section = snmp_user("a word that nobody lists", "8000000001")
    records = card("a", snmp=section), card("b", snmp=section)
    assert found_by_word(*records) == [("snmp_passphrase", "localized", ("a", "b"))]


def test_no_key_is_made_where_no_record_holds_a_localized_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """The words' keys are asked for by localized keys only."""
    monkeypatch.setattr(key_table, "password_to_key", lambda *_: pytest.fail("made"))
    reuse = Reuse(passphrases_in(Context(AS_OF, word_keys=KeyTable(["public"]))))
    reuse.add(card("a", snmp=snmp_user("public", "8000000001", form="clear")))
    assert reuse.shared() == ()


def test_a_card_that_has_a_secret_twice_counts_once() -> None:
    """Whichever card it is, the first or a later one."""
    twice = [{"name": name, "password": PASSWORD} for name in ("a", "b")]
    records = card("a", accounts=twice), card("b", "critical", accounts=twice), card("c", accounts=twice)
    (one,) = shared(*records)
    assert (one.cards, one.card_ids, one.feeds) == (3, ("a", "b", "c"), {"": 2, "critical": 1})


def test_nothing_of_a_secret_is_kept() -> None:
    """Neither the groups nor what was gathered on the way hold the secret."""
    reuse = Reuse()
    for name in ("a", "b"):
        reuse.add(card(name, accounts=account(PASSWORD)))
    assert "m4rker" not in repr((reuse._groups, bytes(reuse._cards._ids), reuse.shared()))  # noqa: SLF001


def test_every_kind_of_secret_has_its_words() -> None:
    """A kind that is added is first given what it opens, and how bad it is to share it."""
    assert set(KINDS) | {"certificate", "certificate_key", "ssh_host_key"} == set(SHARED_KINDS)


def test_a_full_memory_goes_on_in_another(monkeypatch: pytest.MonkeyPatch) -> None:
    """More digests than a table holds are remembered all the same."""
    for name, value in (("_PLACES", 16), ("_LAST", 15), ("_MOST", 12)):
        monkeypatch.setattr(seen, name, value)
    memory = Seen()
    digests = [hash(f"digest {n}") for n in range(100)]
    assert [memory.meet(digest, n + 1) for n, digest in enumerate(digests)] == [0] * 100
    assert [memory.meet(digest, 999) for digest in digests] == list(range(1, 101))
