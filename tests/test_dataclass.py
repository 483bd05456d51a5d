"""Our data classes behave as those of ``dataclasses``, which is the reference for every check here."""

import copy
import dataclasses
import pickle
from typing import Any

import pytest

from auditor import dataclass as ours


def _point(module: Any) -> Any:
    @module.dataclass(frozen=True, slots=True)
    class Point:
        """A point."""

        x: int
        y: int = 2
        words: list[str] = module.field(default_factory=list)
        hidden: str = module.field(default="h", repr=False, compare=False)

        @property
        def sum(self) -> int:
            return self.x + self.y

    return Point


OURS, REFERENCE = _point(ours), _point(dataclasses)


@ours.dataclass(slots=True)
class Tally:
    """A class that changes; at the top, so that it can be pickled."""

    count: int = 0


@ours.dataclass(frozen=True, slots=True)
class Kept:
    """A frozen one at the top."""

    count: int = 0


@ours.dataclass(frozen=True, slots=True, eq=False)
class Itself:
    """Equal to itself only."""

    count: int = 0


@pytest.mark.parametrize(
    ("args", "named"), [((1,), {}), ((1, 3), {"hidden": "s"}), ((), {"x": 4, "words": ["w"]})]
)
def test_fields_text_and_comparison_are_those_of_the_reference(args: Any, named: Any) -> None:
    """The same arguments give the same fields, the same text, and the same match arguments."""
    one, other = OURS(*args, **named), REFERENCE(*args, **named)
    assert {name: getattr(one, name) for name in OURS.__slots__} == dataclasses.asdict(other)
    assert (repr(one), one.sum) == (repr(other), other.sum)
    assert OURS.__match_args__ == REFERENCE.__match_args__
    assert one == OURS(*args, **{**named, "hidden": "another"})
    assert one != OURS(99)
    assert one != other


@pytest.mark.parametrize("before", [0, 30])
@pytest.mark.parametrize(
    ("args", "named"),
    [((), {}), ((1,), {"x": 1}), ((1, 2, [], "h", 5), {}), ((), {"x": 1, "z": 2}), ((), {"y": 2, "z": 2})],
)
def test_the_first_object_and_the_many_refuse_the_same(before: int, args: Any, named: Any) -> None:
    """Too few, too many, double and unknown arguments, in the words that Python has for them."""
    told = []
    for module in (dataclasses, ours):
        kind = _point(module)
        assert [kind(x).x for x in range(before)] == list(range(before))
        with pytest.raises(TypeError) as refused:
            kind(*args, **named)
        told.append(str(refused.value))
    assert told[0] == told[1]


def test_the_first_objects_and_the_many_are_alike() -> None:
    """Arguments by place and by name, and defaults, are the same when an ``__init__`` is written."""
    kind = _point(ours)
    made = [kind(1, hidden="s") for _ in range(30)]
    assert {repr(one) + one.hidden for one in made} == {repr(REFERENCE(1)) + "s"}
    assert len({id(one.words) for one in made}) == 30
    assert "x" in kind.__init__.__code__.co_varnames


@pytest.mark.parametrize("wrong", [{}, {"x": 1, "z": 2}])
def test_wrong_arguments_are_refused(wrong: Any) -> None:
    """A field without a value, or a value without a field, is a TypeError in both."""
    for kind in (REFERENCE, OURS):
        with pytest.raises(TypeError):
            kind(**wrong)


def test_defaults_are_made_anew_for_each_object() -> None:
    """Two objects share no list."""
    assert OURS(1).words is not OURS(1).words


def test_the_functions_of_dataclasses_take_our_classes() -> None:
    """Fields, dictionaries and copies with changes come out as for a class of its own."""
    one, other = OURS(1, words=["a"]), REFERENCE(1, words=["a"])
    assert [f.name for f in dataclasses.fields(one)] == [f.name for f in dataclasses.fields(other)]
    assert dataclasses.asdict(one) == dataclasses.asdict(other)
    assert dataclasses.replace(one, y=7) == ours.replace(one, y=7) == OURS(1, 7, ["a"])


def test_a_frozen_object_does_not_change() -> None:
    """Neither setting nor deleting works; one that is not frozen takes it."""
    with pytest.raises(AttributeError):
        Kept().count = 1  # type: ignore[misc]
    with pytest.raises(AttributeError):
        del Kept().count
    tally = Tally()
    tally.count = 5
    assert tally == Tally(5)


def test_frozen_objects_have_hashes_and_others_have_none() -> None:
    """Equal frozen objects have equal hashes; what changes can't be hashed."""
    assert len({Kept(1), Kept(1), Kept(2)}) == 2
    assert Tally.__hash__ is None


def test_without_eq_an_object_equals_only_itself() -> None:
    """Such objects are keys by who they are."""
    one = Itself(1)
    assert one == one  # noqa: PLR0124 - that is the question
    assert one != Itself(1)
    assert len({one, Itself(1)}) == 2


@pytest.mark.parametrize("one", [Kept(3), Tally(4)])
def test_objects_can_be_copied_and_pickled(one: object) -> None:
    """A copy equals what it was made of."""
    assert copy.copy(one) == copy.deepcopy(one) == pickle.loads(pickle.dumps(one)) == one  # noqa: S301 - our own


def test_inheritance_is_refused() -> None:
    """A data class below another would lose the fields of that: it is refused where it is made."""
    with pytest.raises(TypeError, match="inherits"):

        @ours.dataclass(frozen=True, slots=True)
        class Below(Kept):
            more: int = 0
