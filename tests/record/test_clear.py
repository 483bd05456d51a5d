"""The type of clear secrets: whatever is done with one, its content stays inside."""

import copy
import json
import pickle
from typing import TYPE_CHECKING, Any

import orjson
import pytest

from auditor.record.clear import REDACTED, Clear, revealed

if TYPE_CHECKING:
    from collections.abc import Callable

SECRET = Clear("s3cr3t")


def test_no_text_form_shows_the_content() -> None:
    """Printing, formatting and the repr of what holds it are redacted."""
    forms = [
        str(SECRET),
        repr(SECRET),
        f"{SECRET}",
        f"{SECRET!r:>20}",
        "".join(map(str, [SECRET])),
        str([SECRET]),
        ascii(SECRET),
    ]
    assert all("s3cr3t" not in form and REDACTED in form for form in forms)
    assert f"{SECRET:>10}" == f"{REDACTED:>10}"
    assert "s3cr3t" not in repr(Clear(b"s3cr3t"))


def test_only_reveal_gives_the_content() -> None:
    """The content comes out by name alone; a text of settings in the making is taken as it is."""
    assert SECRET.reveal() == "s3cr3t"
    assert (revealed(SECRET), revealed("open")) == ("s3cr3t", "open")


def test_it_is_no_text() -> None:
    """It has no length, no order, no parts, and can't be joined to a text."""
    assert not isinstance(SECRET, str)
    uses: tuple[Callable[[Any], object], ...] = (
        len, iter, sorted, max, "".join, vars, lambda one: one + "x", lambda one: one[0]
    )  # fmt: skip
    for use in uses:
        with pytest.raises(TypeError):
            use(SECRET)


def test_it_is_compared_by_content() -> None:
    """Equal contents are equal and hash alike; a text is never equal to it."""
    assert (SECRET, hash(SECRET)) == (Clear("s3cr3t"), hash(Clear("s3cr3t")))
    assert Clear("other") != SECRET
    assert Clear("open") != "open"
    assert Clear("a") != Clear(b"a")


def test_no_writer_takes_it() -> None:
    """JSON and pickle refuse it, and their words don't hold it."""
    for write in (orjson.dumps, json.dumps, pickle.dumps, copy.copy(pickle.dumps)):
        with pytest.raises(TypeError) as caught:
            write({"clear": SECRET})
        assert "s3cr3t" not in str(caught.value)


def test_a_copy_is_the_same_object() -> None:
    """Copies of settings share it, as they share texts."""
    assert copy.copy(SECRET) is SECRET
    assert copy.deepcopy({"clear": SECRET})["clear"] is SECRET
