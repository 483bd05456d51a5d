"""What conditions say of a record, and which leaves decided it."""

from collections.abc import Iterator, Mapping
from copy import deepcopy
from datetime import UTC, datetime
from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts.fact import Context, Fact, Settings, fact
from auditor.record.pointer import split, value_at
from auditor.rules.condition import (
    AllOf,
    AnyOf,
    Condition,
    Enough,
    Judgement,
    Leaf,
    Negation,
    Quantified,
    Scope,
    Seen,
    Subject,
    all_of,
    any_of,
    bind,
    judge,
    leaves,
    negation,
    truth_in,
)
from auditor.rules.operator import OPERATORS
from auditor.rules.truth import Truth

CONTEXT: Final = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))

# A small record of our own shape: conditions are data, and need no schema to be judged.
FULL: Final[Settings] = {
    "on": True,
    "count": 3,
    "words": ["a", "b"],
    "deep": {"on": False, "text": "a"},
    "members": [{"on": True, "size": 8}, {"on": False, "size": 16}],
    "none": [],
}


@fact(reads=["/count"], source="made for this test", unit="pieces")
def doubled(record: Settings, _context: Context) -> int | None:
    """Double the count."""
    count = record.get("count")
    return None if count is None else 2 * count


@fact(reads=["/size"], source="made for this test", about="/members")
def halved(member: Settings, _record: Settings, _context: Context) -> float | None:
    """Halve the size of a member."""
    size = member.get("size")
    return None if size is None else size / 2


FACTS: Final[Mapping[str, Fact]] = {"doubled": doubled, "halved": halved}


def scope(record: Settings) -> Scope:
    """Return the scope of a record."""
    return Scope(record, CONTEXT, FACTS)


def at(pointer: str, operator: str = "equals", operand: object = True) -> Leaf:  # noqa: FBT002 - an operand
    """Return a leaf about a setting."""
    return Leaf(Subject.AT, pointer, operator, operand, "", split(pointer))


def its(pointer: str, operator: str = "equals", operand: object = True) -> Leaf:  # noqa: FBT002 - an operand
    """Return a leaf about a setting of the member."""
    return Leaf(Subject.ITS, pointer, operator, operand, "", split(pointer))


def over(pointer: str, part: Condition, *, every: bool) -> Quantified:
    """Return a condition about every or some member of a list."""
    return Quantified(every, pointer, split(pointer), part)


texts = st.sampled_from(["a", "b", "c"])
some_texts = st.lists(texts, max_size=3).map(tuple)
counts = st.integers(0, 9)
card_leaves = st.one_of(
    st.builds(
        at, st.sampled_from(["/on", "/deep/on"]), st.sampled_from(["equals", "differs_from"]), st.booleans()
    ),
    st.builds(
        at, st.just("/count"), st.sampled_from(["at_least", "at_most", "more_than", "less_than"]), counts
    ),
    st.builds(at, st.just("/deep/text"), st.sampled_from(["one_of", "none_of"]), some_texts),
    st.builds(
        at, st.just("/words"), st.sampled_from(["includes_all", "includes_none", "includes_only"]), some_texts
    ),
    st.builds(at, st.just("/words"), st.just("includes"), texts),
    st.builds(at, st.just("/members"), st.just("has_items"), st.booleans()),
    st.builds(Leaf, st.just(Subject.FACT), st.just("doubled"), st.just("at_least"), counts),
)
member_leaves = st.one_of(
    st.builds(its, st.just("/on"), st.just("equals"), st.booleans()),
    st.builds(its, st.just("/size"), st.sampled_from(["at_least", "less_than"]), counts),
    st.builds(Leaf, st.just(Subject.FACT), st.just("halved"), st.just("at_most"), counts),
)


def joined(parts: st.SearchStrategy[Condition]) -> st.SearchStrategy[Condition]:
    """Return conditions made of others."""
    several = st.lists(parts, min_size=1, max_size=3).map(tuple)
    return st.one_of(st.builds(AllOf, several), st.builds(AnyOf, several), st.builds(Negation, parts))


def quantified(inner: st.SearchStrategy[Leaf]) -> st.SearchStrategy[Condition]:
    """Return conditions on every or some member, made of these leaves."""
    parts = st.recursive(inner, joined, max_leaves=4)
    return st.builds(over, st.just("/members"), parts, every=st.booleans())


conditions = st.recursive(card_leaves | quantified(card_leaves | member_leaves), joined, max_leaves=8)
conditions_on_members_proper = st.recursive(card_leaves | quantified(member_leaves), joined, max_leaves=8)

members = st.fixed_dictionaries({}, optional={"on": st.booleans(), "size": counts})
records = st.fixed_dictionaries(
    {},
    optional={
        "on": st.booleans(),
        "count": counts,
        "words": st.lists(texts, max_size=3),
        "deep": st.fixed_dictionaries({}, optional={"on": st.booleans(), "text": texts}),
        "members": st.lists(members, max_size=3),
    },
)


@st.composite
def pieces_of_knowledge(draw: st.DrawFn) -> tuple[Settings, Settings]:
    """Draw a record, and the same record with some of its settings not captured."""
    whole = draw(records)
    known = deepcopy(whole)
    for place in draw(st.lists(st.sampled_from(list(_settings(whole)) or [()]), max_size=6)):
        _forget(known, place)
    return known, whole


@st.composite
def judgements(draw: st.DrawFn) -> Judgement:
    """Draw a judgement that rests on one leaf."""
    seen = Seen(draw(st.sampled_from(["/a", "/b", "/c"])), draw(st.booleans()), None, draw(st.booleans()))
    return Judgement(draw(st.sampled_from(Truth)), (seen,))


@given(st.lists(judgements(), max_size=5))
def test_all_of_and_any_of_mirror_each_other(parts: list[Judgement]) -> None:
    """De Morgan: not all of them is any of their negations, evidence included."""
    assert negation(all_of(parts)) == any_of([negation(part) for part in parts])
    assert negation(any_of(parts)) == all_of([negation(part) for part in parts])


@given(st.lists(conditions, max_size=3).map(tuple), records)
def test_joined_conditions_mirror_each_other(parts: tuple[Condition, ...], record: Settings) -> None:
    """De Morgan for conditions against a record, evidence included."""
    opposites = tuple(Negation(part) for part in parts)
    assert judge(Negation(AllOf(parts)), scope(record)) == judge(AnyOf(opposites), scope(record))
    assert judge(Negation(AnyOf(parts)), scope(record)) == judge(AllOf(opposites), scope(record))


@given(st.recursive(member_leaves, joined, max_leaves=4), records)
def test_every_and_some_mirror_each_other(part: Condition, record: Settings) -> None:
    """Not every member meets it: some member does not; both rest on the same settings."""
    not_every = judge(Negation(over("/members", part, every=True)), scope(record))
    some_not = judge(over("/members", Negation(part), every=False), scope(record))
    assert not_every.truth is some_not.truth
    assert [(seen.where, seen.observed) for seen in not_every.seen] == [
        (seen.where, seen.observed) for seen in some_not.seen
    ]


@given(conditions, records)
def test_the_truth_alone_is_that_of_the_judgement(condition: Condition, record: Settings) -> None:
    """To ask for no evidence changes nothing of what is so."""
    assert truth_in(condition, scope(record)) is judge(condition, scope(record)).truth


@given(conditions, records)
def test_a_negation_of_a_negation_changes_nothing(condition: Condition, record: Settings) -> None:
    """Neither the truth nor the evidence."""
    assert judge(Negation(Negation(condition)), scope(record)) == judge(condition, scope(record))


@given(conditions, pieces_of_knowledge())
def test_knowing_more_never_turns_a_decision(
    condition: Condition, known_and_whole: tuple[Settings, Settings]
) -> None:
    """What is true or false of a part of the settings is so of all: only unknown may change."""
    known, whole = known_and_whole
    before, after = judge(condition, scope(known)).truth, judge(condition, scope(whole)).truth
    assert before in (Truth.UNKNOWN, after)


@given(conditions_on_members_proper, records)
def test_evidence_alone_carries_the_decision(condition: Condition, record: Settings) -> None:
    """A record of nothing but the settings in evidence is judged the same."""
    judgement = judge(condition, scope(record))
    kept = deepcopy(record)
    evidence = {seen.where for seen in judgement.seen}
    for place in sorted(_settings(record), key=len, reverse=True):
        if not any(
            pointer == _pointer(place) or pointer.startswith(_pointer(place) + "/") for pointer in evidence
        ):
            _forget(kept, place)
    assert judge(condition, scope(kept)).truth is judgement.truth


@given(conditions, records)
def test_evidence_is_of_the_kind_that_decided(condition: Condition, record: Settings) -> None:
    """A fail names what failed, a pass what held, an unknown what is missing, and nothing else."""
    judgement = judge(condition, scope(record))
    for seen in judgement.seen:
        assert (seen.observed is None) is (judgement.truth is Truth.UNKNOWN)
        if seen.leaf is not None and seen.observed is not None:
            held = OPERATORS[seen.leaf.operator].holds(seen.observed, seen.leaf.operand)
            assert (held is not seen.negated) is (judgement.truth is Truth.TRUE)


@given(conditions, records)
def test_evidence_shows_what_the_record_holds(condition: Condition, record: Settings) -> None:
    """Each setting in evidence stands at its pointer, with its value as observed; none stands twice."""
    judgement = judge(condition, scope(record))
    assert len(set(judgement.seen)) == len(judgement.seen)
    for seen in judgement.seen:
        there = value_at(record, split(seen.where))
        if isinstance(there, list):
            assert len(seen.observed) == len(there)
        elif seen.leaf is None or seen.leaf.subject is not Subject.FACT:
            assert seen.observed == there


def test_a_fail_names_exactly_the_settings_that_fail() -> None:
    """Of three requirements, the two that are not met are named, with their pointers."""
    condition = AllOf((at("/on", operand=False), at("/count", "at_least", 2), at("/deep/on")))
    judgement = judge(condition, scope(FULL))
    assert judgement.truth is Truth.FALSE
    assert [(seen.where, seen.observed) for seen in judgement.seen] == [("/on", True), ("/deep/on", False)]


def test_a_fail_of_any_of_names_all_of_its_parts() -> None:
    """Where one of several would have done, all that were tried are named."""
    judgement = judge(AnyOf((at("/deep/on"), at("/count", "more_than", 3))), scope(FULL))
    assert [seen.where for seen in judgement.seen] == ["/deep/on", "/count"]


def test_a_fail_of_any_of_says_that_one_part_is_enough() -> None:
    """Nobody is told to change every alternative, whatever stands inside them."""
    both = AllOf((at("/deep/on"), at("/count", "more_than", 3)))
    judgement = judge(AnyOf((at("/on", operand=False), both)), scope(FULL))
    assert [seen.enough for seen in judgement.seen] == [(Enough.ANOTHER,)] * 3


def test_a_fail_of_some_says_that_one_member_is_enough() -> None:
    """Also where there is one member only: there may be another tomorrow."""
    for members in ([{"on": False}], [{"on": False}, {"on": False}]):
        judgement = judge(over("/members", its("/on"), every=False), scope({"members": members}))
        assert [seen.enough for seen in judgement.seen] == [(Enough.MEMBER,)] * len(members)


def test_choices_inside_choices_are_said_from_the_inside_out() -> None:
    """An alternative inside the member of a list is a choice of both kinds, each said once."""
    part = AnyOf((its("/on"), AnyOf((its("/size", "at_least", 99), its("/size", "less_than", 1)))))
    judgement = judge(over("/members", part, every=False), scope({"members": [{"on": False, "size": 8}]}))
    assert {seen.enough for seen in judgement.seen} == {(Enough.ANOTHER, Enough.MEMBER)}


@pytest.mark.parametrize(
    "condition",
    [
        AllOf((at("/on", operand=False), at("/deep/on"))),
        AnyOf((AllOf((at("/on", operand=False), at("/deep/on"))),)),
        Negation(AnyOf((at("/on"), at("/deep/on", operand=False)))),
        over("/members", its("/size", "at_least", 99), every=True),
    ],
)
def test_where_every_setting_must_change_no_choice_is_said(condition: Condition) -> None:
    """A failing all_of, a lone alternative, a denied any_of and every ask for each of their leaves."""
    judgement = judge(condition, scope(FULL))
    assert (judgement.truth, [seen.enough for seen in judgement.seen]) == (Truth.FALSE, [(), ()])


def test_a_denied_all_of_says_that_one_part_is_enough() -> None:
    """Not both: changing either will do."""
    judgement = judge(Negation(AllOf((at("/on"), at("/deep/on", operand=False)))), scope(FULL))
    assert [seen.enough for seen in judgement.seen] == [(Enough.ANOTHER,)] * 2


def test_a_list_without_members_offers_no_choice() -> None:
    """There is no member to choose: the list itself is the evidence."""
    alternatives = AnyOf((at("/deep/on"), over("/none", its("/on"), every=False)))
    assert [seen.enough for seen in judge(alternatives, scope(FULL)).seen] == [(Enough.ANOTHER,), ()]


def test_a_fail_leaves_out_what_is_not_known() -> None:
    """A known fail decides; the setting that is missing beside it is no evidence."""
    judgement = judge(AllOf((at("/missing"), at("/deep/on"))), scope(FULL))
    assert judgement == Judgement(Truth.FALSE, (Seen("/deep/on", observed=False, leaf=at("/deep/on")),))


def test_a_list_of_objects_may_stand_in_evidence_beside_others() -> None:
    """Whether there are members at all can be asked inside a joined condition."""
    judgement = judge(AllOf((at("/members", "has_items", operand=False), at("/on"))), scope(FULL))
    assert (judgement.truth, [seen.where for seen in judgement.seen]) == (Truth.FALSE, ["/members"])


def test_whether_a_setting_is_known_is_true_or_unknown_and_never_false() -> None:
    """What stands there, false and empty too, is known; what is absent stays unknown."""
    for pointer in ("/on", "/deep/on", "/none"):
        assert judge(at(pointer, "is_known"), scope(FULL)).truth is Truth.TRUE
    assert judge(at("/missing", "is_known"), scope(FULL)).truth is Truth.UNKNOWN


def test_an_absent_setting_is_unknown_and_named() -> None:
    """Absent is never false, for a comparison and for its opposite alike."""
    for operator in ("equals", "differs_from"):
        leaf = at("/deep/missing", operator)
        assert judge(leaf, scope(FULL)) == Judgement(Truth.UNKNOWN, (Seen("/deep/missing", None, leaf),))


def test_a_setting_below_something_absent_is_unknown() -> None:
    """A whole section that was not captured is as unknown as one setting."""
    assert judge(at("/nothing/here/on"), scope(FULL)).truth is Truth.UNKNOWN


@pytest.mark.parametrize("every", [True, False])
def test_an_absent_list_is_unknown(*, every: bool) -> None:
    """Neither every nor some member of a list that was not captured meets anything."""
    judgement = judge(over("/absent", its("/on"), every=every), scope(FULL))
    assert judgement == Judgement(Truth.UNKNOWN, (Seen("/absent", None, None),))


@pytest.mark.parametrize(("every", "truth"), [(True, Truth.TRUE), (False, Truth.FALSE)])
def test_an_empty_list_is_decided(*, every: bool, truth: Truth) -> None:
    """Every member of none meets it, no member of none does; the evidence is the list itself."""
    judgement = judge(over("/none", its("/on"), every=every), scope(FULL))
    assert judgement == Judgement(truth, (Seen("/none", (), None),))


def test_a_fail_of_every_names_the_members_that_fail() -> None:
    """The pointer of evidence leads into the member."""
    judgement = judge(over("/members", its("/on"), every=True), scope(FULL))
    assert (judgement.truth, [seen.where for seen in judgement.seen]) == (Truth.FALSE, ["/members/1/on"])


def test_one_member_decides_some_though_others_are_not_known() -> None:
    """Some member meets it as soon as one does."""
    record = {"members": [{}, {"on": True}]}
    judgement = judge(over("/members", its("/on"), every=False), scope(record))
    assert (judgement.truth, [seen.where for seen in judgement.seen]) == (Truth.TRUE, ["/members/1/on"])


def test_a_member_that_is_not_known_leaves_every_open() -> None:
    """Every member meets it only when each is known to."""
    record = {"members": [{}, {"on": True}]}
    judgement = judge(over("/members", its("/on"), every=True), scope(record))
    assert judgement == Judgement(Truth.UNKNOWN, (Seen("/members/0/on", None, its("/on")),))


def test_a_fact_points_at_the_first_setting_that_it_reads() -> None:
    """A fact's evidence is its value, at a place that a person can look up."""
    leaf = Leaf(Subject.FACT, "doubled", "equals", 6)
    assert judge(leaf, scope(FULL)) == Judgement(Truth.TRUE, (Seen("/count", 6, leaf),))


def test_a_fact_about_a_member_points_into_the_member() -> None:
    """Each member has its own value of the fact."""
    leaf = Leaf(Subject.FACT, "halved", "at_most", 5)
    judgement = judge(over("/members", leaf, every=True), scope(FULL))
    assert judgement == Judgement(Truth.FALSE, (Seen("/members/1/size", 8.0, leaf),))


def test_a_fact_of_the_card_is_computed_once_a_card() -> None:
    """However many leaves ask for it."""
    asked: list[int] = []

    @fact(reads=["/count"], source="made for this test")
    def counting(_record: Settings, _context: Context) -> bool | None:
        """Count how often it is asked."""
        asked.append(1)
        return None

    leaf = Leaf(Subject.FACT, "counting", "equals", True)  # noqa: FBT003 - the operand
    condition = AllOf((leaf, Negation(leaf), over("/members", leaf, every=True)))
    judge(condition, Scope(FULL, CONTEXT, {"counting": counting}))
    assert len(asked) == 1


def test_a_parameter_may_be_the_subject() -> None:
    """A rule may depend on what a site asks for; there is then no place to point at."""
    wanted = bind(Leaf(Subject.PARAMETER, "banner_required", "equals", True), {"banner_required": False})  # noqa: FBT003
    judgement = judge(wanted, scope(FULL))
    assert (judgement.truth, [(seen.where, seen.observed) for seen in judgement.seen]) == (
        Truth.FALSE, [("", False)],
    )  # fmt: skip


def test_binding_fills_in_every_parameter_and_nothing_else() -> None:
    """Operands that name a parameter take its value, at any depth; literals stay."""
    by_name = Leaf(Subject.AT, "/count", "at_least", 1, "minimum", ("count",))
    literal = at("/on")
    condition = AllOf((AnyOf((by_name, literal)), Negation(by_name), over("/members", by_name, every=True)))
    bound = list(leaves(bind(condition, {"minimum": 7})))
    assert [(leaf.operand, leaf.parameter) for leaf in bound] == [
        (7, "minimum"), (True, ""), (7, "minimum"), (7, "minimum"),
    ]  # fmt: skip


@given(conditions)
def test_binding_without_parameters_changes_nothing(condition: Condition) -> None:
    """A condition that names no parameter is the same after binding."""
    assert bind(condition, {}) == condition


def _settings(value: object, place: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Yield the places of all settings that could be missing: members of objects, not of lists."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield (*place, key)
            yield from _settings(item, (*place, key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield from _settings(item, (*place, str(index)))


def _forget(record: Settings, place: tuple[str, ...]) -> None:
    holder: Any = value_at(record, place[:-1]) if place else None
    if isinstance(holder, dict):
        holder.pop(place[-1], None)


def _pointer(place: tuple[str, ...]) -> str:
    return "".join(f"/{token}" for token in place)
