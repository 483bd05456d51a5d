"""A filled-in worksheet → settings: there and back, and what is refused."""

import csv
import io
import random
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.intake.filling import cells_of
from auditor.intake.imported import Origin
from auditor.intake.worksheet_answers import MOST_FAULTS, read_worksheet_answers
from auditor.record.outline import SEALED
from auditor.record.pointer import join, split, value_at
from auditor.record.settings import Settings
from auditor.record.visit import NOT_READ
from auditor.report.worksheet import ROOM, worksheet_of
from auditor.report.worksheet_csv import COLUMNS, write_csv
from tests.intake.by_hand import CARDS, bounded, faults_of, said, without_schema
from tests.record.mutations import compliant
from tests.rules.mutation import forget_one

FILE = "ups-07.csv"


def form(record: Settings | None = None) -> list[list[str]]:
    """Return the rows of a worksheet, the header first."""
    stream = io.BytesIO()
    write_csv(worksheet_of(record), stream)
    return list(csv.reader(io.StringIO(stream.getvalue().decode(), newline="")))


def filled(rows: list[list[str]], answers: Mapping[str, str]) -> bytes:
    """Return the rows with answers, and rows added for places that the form has no room for."""
    printed = {row[0] for row in rows}
    more = [[pointer, "", "", "", text] for pointer, text in answers.items() if pointer not in printed]
    stream = io.StringIO(newline="")
    csv.writer(stream).writerows([*([*row[:4], answers.get(row[0], row[4])] for row in rows), *more])
    return stream.getvalue().encode()


def answers_of(card: Settings) -> dict[str, str]:
    """Return what somebody who knows the whole card answers."""
    answers = {}
    for tokens, leaf, text in cells_of(card):
        if leaf.kind != "secret":
            answers[join(tokens)] = text
        elif text == "empty":
            answers[join((*tokens, "sealed", "length"))] = "0"
        else:
            parts = text.removeprefix("sealed:").split()
            answers |= {
                join((*tokens, "sealed", name)): known for name, _, known in (p.partition("=") for p in parts)
            }
    return answers


def sealed(value: Any) -> Any:
    """Return a record whose secrets are what may stand on a worksheet: a length and a list, or empty."""
    if isinstance(value, list):
        return [sealed(member) for member in value]
    if not isinstance(value, dict):
        return value
    if "clear" in value:
        return {"sealed": {"length": len(value["clear"]), "listed": "none"}}
    if "sealed" in value:
        return {"sealed": {name: known for name, known in value["sealed"].items() if name in SEALED}}
    return (
        {} if {"crypt", "localized"} & set(value) else {name: sealed(inner) for name, inner in value.items()}
    )


def known_by_hand(card: Settings) -> Settings:
    """Return what a person may write of a card on a worksheet."""
    kept = sealed(without_schema(card))
    if "pem" in kept.get("tls", {}).get("certificate", {}):
        del kept["tls"]["certificate"]
    whole: Settings = _without_empty_seals(said(kept))
    return whole


def _without_empty_seals(value: Any) -> Any:
    if isinstance(value, list):
        return [_without_empty_seals(member) for member in value]
    if not isinstance(value, dict):
        return value
    inner = {name: _without_empty_seals(member) for name, member in value.items()}
    return said({name: member for name, member in inner.items() if member != {"sealed": {}}})


def merged(one: Any, other: Any) -> Any:
    """Return two records of one card in one, members of lists by their index."""
    if isinstance(one, dict) and isinstance(other, dict):
        names = [*one, *(name for name in other if name not in one)]
        return {
            name: merged(one[name], other[name])
            if name in one and name in other
            else one.get(name, other.get(name))
            for name in names
        }
    if isinstance(one, list) and one and isinstance(one[0], dict):
        assert len(one) == len(other)
        return [merged(*pair) for pair in zip(one, other, strict=True)]
    return one


@given(CARDS)
@settings(deadline=None)
def test_a_record_comes_back_from_a_worksheet_as_it_was_known(card: Settings) -> None:
    """Record → answers on the blank form → record is the identity, secrets as far as a form may know them."""
    known = known_by_hand(card)
    (imported,) = read_worksheet_answers(filled(form(), answers_of(known)), FILE)
    assert imported.settings == known


@given(CARDS, st.integers(0, 2**32))
@settings(deadline=None)
def test_the_form_of_a_record_asks_for_all_that_it_lacks(card: Settings, seed: int) -> None:
    """What a record forgot stands on its worksheet; answered and merged, the record is whole again."""
    whole = known_by_hand(card)
    less = less_known({"schema": "witnessmark/card-1", **whole}, random.Random(seed))  # noqa: S311
    rows = form(less)
    asked = {row[0] for row in rows}
    answers = {pointer: text for pointer, text in answers_of(whole).items() if not _stands(less, pointer)}
    (imported,) = read_worksheet_answers(filled(rows, answers), FILE)
    assert merged(without_schema(said(less)), imported.settings) == whole
    unasked = [split(pointer) for pointer in answers if pointer not in asked]
    assert [at for at in unasked if at not in NOT_READ and not _beyond_room(at)] == []


def less_known(card: Settings, dice: random.Random) -> Settings:
    """Return a card with up to a dozen settings forgotten, of secrets only whole ones."""
    for _ in range(dice.randint(1, 12)):
        less, at = forget_one(card, dice)
        card = card if "/sealed/" in at else less
    return card


def _stands(card: Settings, pointer: str) -> bool:
    return value_at(card, split(pointer.partition("/sealed/")[0])) is not None


def _beyond_room(tokens: tuple[str, ...]) -> bool:
    return any(token.isdecimal() and int(token) >= ROOM for token in tokens)


def test_an_answered_form_of_a_known_list_keeps_its_members_apart() -> None:
    """A form that asks for one account's role states how many accounts there are, and their names."""
    card = compliant()
    del card["accounts"][1]["role"]
    rows = {row[0]: row[4] for row in form(card)}
    assert (rows["/accounts"], rows["/accounts/1/name"], rows["/accounts/1/role"]) == ("4", "r.osei", "")
    (imported,) = read_worksheet_answers(filled(form(card), {"/accounts/1/role": "viewer"}), FILE)
    assert [account.get("role") for account in imported.settings["accounts"]] == [None, "viewer", None, None]


def answered(*rows: tuple[str, str]) -> bytes:
    """Return a worksheet of these pointers and answers."""
    stream = io.StringIO(newline="")
    csv.writer(stream).writerows([COLUMNS, *([pointer, "", "", "", text] for pointer, text in rows)])
    return stream.getvalue().encode()


def test_an_import_says_whose_card_by_whom_and_from_which_line() -> None:
    """Without an id the file's name gives one; origins name line and pointer, of a secret as a whole."""
    text = answered(("/mail/password/sealed/length", "9"), ("/mail/enabled", "yes"))
    (imported,) = read_worksheet_answers(text, FILE)
    assert (imported.card_id, imported.method) == ("ups-07", "by_hand")
    assert imported.origins == {
        "/mail/password": Origin(FILE, 2, "/mail/password/sealed/length"),
        "/mail/enabled": Origin(FILE, 3, "/mail/enabled"),
    }


def test_a_secret_of_no_characters_is_the_empty_secret() -> None:
    """The length 0 says empty, whatever was ticked for the list of words."""
    text = answered(("/mail/password/sealed/length", "0"), ("/mail/password/sealed/listed", "none"))
    (imported,) = read_worksheet_answers(text, FILE)
    assert imported.settings == {"mail": {"password": {"empty": True}}}


@pytest.mark.parametrize(
    ("pointer", "answer", "problem"),
    [
        ("/mail/password", "clear:Summer2026", "a worksheet takes no secret"),
        ("/mail/password/clear", "Summer2026", 'no setting stands at "/mail/password/clear"'),
        ("/mail/password/sealed/tag", "00", 'no setting stands at "/mail/password/sealed/tag"'),
        ("/mail/passwort", "", 'no setting stands at "/mail/passwort"'),
        ("mail", "", 'no setting stands at "mail"'),
        ("/accounts/01/name", "x", 'no setting stands at "/accounts/01/name"'),
        ("/mail~2", "x", 'no setting stands at "/mail~2"'),
        ("/mail/port", "x", "expected a number"),
        ("/accounts/1/name", "x", "member 1 of the list is empty, but a later one is not"),
    ],
)
def test_a_bad_answer_is_told_with_its_line(pointer: str, answer: str, problem: str) -> None:
    """The fault names line and remedy, and never repeats what may be a secret."""
    (fault,) = faults_of(lambda: read_worksheet_answers(answered((pointer, answer)), FILE))
    assert problem in fault.problem
    assert pointer not in fault.problem or not fault.pointer, "a place is named once"
    assert fault.line == 2
    assert fault.remedy
    assert "Summer2026" not in str(fault)


def test_a_setting_answered_twice_is_told() -> None:
    """The second answer names the line of the first; empty rows do not count."""
    text = answered(("/mail/port", "25"), ("/mail/port", ""), ("/mail/port", "587"))
    (fault,) = faults_of(lambda: read_worksheet_answers(text, FILE))
    assert (fault.line, fault.problem) == (4, "this setting is answered already, on line 2")


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (b"", "empty"),
        (b"pointer,question\n", "no column answer"),
        (b"pointer,answer,answer\n", "two columns answer"),
        (b"pointer,answer\n/mail/port\n", "the row has 1 cells; the first row has 2"),
        (b"pointer,answer\n/mail/port,25,x\n", "the row has 3 cells; the first row has 2"),
        (b'pointer,answer\n/mail/port,"25\n', "a quotation mark in this row is never closed"),
        (b"pointer,answer\n/mail/port,2\x005\n", "a NUL character"),
        (b"pointer,answer\n/mail/server,=1+1\n", "a formula"),
        (b"pointer,answer\n" + b"/" * 100_000 + b",x\n", "no setting stands at"),
    ],
)
def test_bad_csv_is_one_clear_error_in_bounded_time_and_memory(text: bytes, problem: str) -> None:
    """Each kind of broken worksheet gives one fault, and costs little."""
    with bounded():
        (fault,) = faults_of(lambda: read_worksheet_answers(text, FILE))
    assert problem in fault.problem
    assert fault.remedy


def test_endless_faults_stay_bounded() -> None:
    """A worksheet of nothing but unknown pointers is refused in bounded time."""
    with bounded():
        found = faults_of(
            lambda: read_worksheet_answers(answered(*[(f"/x{n}", "y") for n in range(15_000)]), FILE)
        )
    assert len(found) == MOST_FAULTS + 1
