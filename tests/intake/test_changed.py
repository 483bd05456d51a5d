"""Two states of records: what is the same to the byte is counted, and never parsed."""

from collections.abc import Sequence
from functools import partial

from hypothesis import given
from hypothesis import strategies as st

from auditor.errors import Fault
from auditor.intake.changed import Changed, changed_records
from auditor.intake.source import RawRecord


def text(name: str, kind: str = "ups") -> bytes:
    """Return a small record."""
    return (
        f'{{"schema":"witnessmark/card-1","card":{{"id":"{name}"}},"equipment":{{"kind":"{kind}"}}}}'
    ).encode()


def raws(texts: Sequence[bytes]) -> list[RawRecord | Fault]:
    """Return texts as raw records of one file."""
    return [RawRecord(each, "all.ndjson", line) for line, each in enumerate(texts, start=1)]


def changed(before: Sequence[bytes], after: Sequence[bytes]) -> Changed:
    """Compare two states."""
    return changed_records(partial(raws, before), partial(raws, after))


def ids(changed_: Changed) -> tuple[list[str], list[str]]:
    """Return the card ids on both sides."""
    return [r.card_id for r in changed_.before.records], [r.card_id for r in changed_.after.records]


def test_only_what_differs_is_read() -> None:
    """One changed, one came, one went, one is the same."""
    found = changed(
        [text("same"), text("edited"), text("gone")], [text("new"), text("edited", "pdu"), text("same")]
    )
    assert ids(found) == (["edited", "gone"], ["new", "edited"])
    assert found.unchanged == 1


def test_what_is_the_same_is_not_even_parsed() -> None:
    """A text that is no record, and stood there before, is no fault of this change."""
    found = changed([b"{"], [b"{"])
    assert (found.after.errors, found.unchanged) == ((), 1)


def test_a_record_that_was_invalid_and_is_valid_now() -> None:
    """The fault stands on the side before; after, it is a record."""
    found = changed([b"{"], [text("mended")])
    assert len(found.before.errors) == 1
    assert ids(found) == ([], ["mended"])


def test_a_copy_under_its_old_id_is_no_new_card() -> None:
    """The other record did not change; it is named, and what is edited twice is not taken for new."""
    found = changed([text("a"), text("b")], [text("a"), text("b"), text("a", "pdu"), text("c")])
    assert ids(found) == ([], ["c"])
    (error,) = found.after.errors
    assert "card id a is also the id of the record in all.ndjson, line 1" in str(error)
    assert ids(changed([text("a")], [text("a"), text("a")])) == ([], [])


def test_a_record_that_moved_beside_its_old_self_is_a_change() -> None:
    """The id was there before, and the record with it is gone: nothing stands twice."""
    found = changed([text("a"), text("b")], [text("b"), text("a", "pdu")])
    assert (ids(found), found.after.errors) == ((["a"], ["a"]), ())


def test_two_records_of_one_card_are_told() -> None:
    """Of those that changed; the first counts."""
    found = changed([], [text("a"), text("a", "pdu")])
    assert ids(found) == ([], ["a"])
    assert "also the id of the record" in str(found.after.errors[0])


def test_a_fault_of_reading_goes_to_its_side() -> None:
    """What can't be read after the change is a fault of the change."""
    fault = Fault("x.json", "", 0, 0, "can't be read: gone", "Check the path.")
    found = changed_records(lambda: raws([text("a")]), lambda: [*raws([text("a")]), fault])
    assert [error.faults[0] for error in found.after.errors] == [fault]


@given(st.lists(st.sampled_from("abcde"), unique=True), st.lists(st.sampled_from("abcde"), unique=True))
def test_the_counts_add_up(before: list[str], after: list[str]) -> None:
    """Unchanged and changed are all there are, on both sides; equal states have nothing changed."""
    found = changed([text(name) for name in before], [text(name) for name in after])
    old, new = ids(found)
    assert (len(old) + found.unchanged, len(new) + found.unchanged) == (len(before), len(after))
    assert set(old) == set(before) - set(after)
    assert set(new) == set(after) - set(before)
