"""Views of SNMP: the worked cases, a brute-force evaluator over all objects, and less knowledge."""

from collections.abc import Sequence
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.facts.ups_mib import CONFIG, CONTROL, TEST, Oid
from auditor.facts.vacm_view import Families, Family, includes, includes_any, includes_some

UPS = "1.3.6.1.2.1.33.1"


def family(subtree: str, mask: str | None = "", kind: str | None = "included") -> Family:
    """Return a row of a view."""
    return Family(subtree, mask, kind)


def oid(text: str) -> Oid:
    """Return an object identifier from its dotted form."""
    return tuple(int(number) for number in text.split("."))


LABELS = (family("1.3.6.1.2.1"), family(f"{UPS}.8", "", "excluded"))
COLUMN = (family("1.3.6.1.2.1.2.2.1.0.1", "FFA0"),)
COLUMN_AND_ROW = (*COLUMN, family("1.3.6.1.2.1.2.2.1.10.0", "FFC0", "excluded"))
MASKED = (family(f"{UPS}.8", "F0"),)
MASKED_WIDER = (family(f"{UPS}.8", "F000"),)
HIDDEN = (
    family("1.3.6.1"),
    family(f"{UPS}.8", "", "excluded"),
    family(f"{UPS}.9", "", "excluded"),
)


# Worked by hand from RFC 3415 section 4, vacmViewTreeFamilyMask and vacmViewTreeFamilySubtree.
@pytest.mark.parametrize(
    ("rows", "asked", "is_in"),
    [
        (LABELS, f"{UPS}.2.1.0", True),
        (LABELS, f"{UPS}.8.2.0", False),
        (LABELS, "1.3.6.1.2", False),
        (COLUMN, "1.3.6.1.2.1.2.2.1.10.1", True),
        (COLUMN, "1.3.6.1.2.1.2.2.1.10.2", False),
        (COLUMN_AND_ROW, "1.3.6.1.2.1.2.2.1.10.1", False),
        (COLUMN_AND_ROW, "1.3.6.1.2.1.2.2.1.11.1", True),
        (MASKED, f"{UPS}.8.1.0", True),
        (MASKED, "1.3.6.1.9.9.9.9.9.1.0", False),
        (MASKED_WIDER, "1.3.6.1.9.9.9.9.9.1.0", True),
        ((), "1.3.6.1", False),
        (HIDDEN, f"{UPS}.9.7.0", False),
        (HIDDEN, f"{UPS}.1.5.0", True),
    ],
    ids=["V1", "V2", "V3", "V4", "V5", "V6", "V7", "V8", "V9", "V10", "V11", "V12 hidden", "V12 visible"],
)
def test_worked_cases_of_views(rows: Families, asked: str, is_in: bool) -> None:
    """Length decides, then the greater subtree; masks wildcard, and go on with ones."""
    assert includes(rows, oid(asked)) is is_in


@pytest.mark.parametrize(
    ("rows", "control", "config", "test"),
    [
        (LABELS, False, True, True),
        (HIDDEN, False, False, True),
        (MASKED, True, False, False),
        (MASKED_WIDER, True, True, True),
        ((), False, False, False),
        ((family(f"{UPS}.8.4.0"),), True, False, False),
        ((family(f"{UPS}.9.5"),), False, False, False),
        ((family("1.3.6.1"), family(UPS, "", "excluded")), False, False, False),
        ((family(UPS), *(family(f"{UPS}.8.{n}", "", "excluded") for n in (1, 2, 3, 5))), True, True, True),
    ],
)
def test_part_of_a_group_in_a_view_counts(
    rows: Families,
    control: bool,
    config: bool,
    test: bool,
) -> None:
    """By hand: one writable object of a group is enough, and one that can't be written is none."""
    assert [includes_any(rows, goals) for goals in (CONTROL, CONFIG, TEST)] == [control, config, test]


def test_colons_in_a_mask_mean_nothing() -> None:
    """The record allows them between octets."""
    assert includes((family("1.3.6.1.2.1.2.2.1.0.1", "ff:a0"),), oid("1.3.6.1.2.1.2.2.1.10.1")) is True


@pytest.mark.parametrize(
    ("rows", "is_in"),
    [
        ((family(UPS, None),), True),
        ((family("1.3.9", None),), None),
        ((family(UPS, "", None),), None),
        ((family(UPS), Family(None, None, "excluded")), None),
        ((family(UPS), Family(None, None, "included")), True),
        ((Family(UPS, "", "included", is_of_view=False),), None),
        ((family(UPS), Family(f"{UPS}.9", "", "excluded", is_of_view=False)), True),
        ((family(UPS), Family(f"{UPS}.8", "", "excluded", is_of_view=False)), None),
    ],
)
def test_what_a_row_does_not_tell_counts_only_where_it_matters(
    rows: Families,
    is_in: bool | None,
) -> None:
    """A row falls under itself whatever its mask; else an unknown member leaves the answer open."""
    assert includes_any(rows, CONTROL) is is_in


# The reference: RFC 3415 section 4 word by word, over every object of a small world. Its rows
# name the sub-identifiers 0 and 1; 2 stands for all others, and no row is longer than 3.
NAMED, WORLD, LONGEST = (0, 1), (0, 1, 2), 4


def reference_includes(rows: Families, asked: Oid) -> bool:
    """Decide one object by looking at all rows, none of which may hide anything."""
    best: tuple[int, Oid] | None = None
    decision = False
    for row in rows:
        assert row.subtree is not None
        assert row.mask is not None
        subtree = oid(row.subtree)
        bits = "".join(f"{int(digit, 16):04b}" for digit in row.mask).ljust(len(subtree), "1")
        fits = len(asked) >= len(subtree) and all(
            bit == "0" or own == other for bit, own, other in zip(bits, subtree, asked, strict=False)
        )
        if fits and (best is None or (len(subtree), subtree) > best):
            best, decision = (len(subtree), subtree), row.type == "included"
    return decision


def below(subtree: Oid) -> list[Oid]:
    """Return every object of the small world that lies at or below an object identifier."""
    lengths = range(LONGEST - len(subtree) + 1)
    return [(*subtree, *rest) for length in lengths for rest in product(WORLD, repeat=length)]


SUBTREES = [item for length in (1, 2, 3) for item in product(NAMED, repeat=length)]
ROWS = st.lists(
    st.builds(
        family,
        st.sampled_from([".".join(map(str, item)) for item in SUBTREES]),
        st.sampled_from(["", "00", "20", "40", "60", "80", "a0", "c0", "e0", "ff"]),
        st.sampled_from(["included", "excluded"]),
    ),
    max_size=6,
    unique_by=lambda row: row.subtree,  # RFC 3415: subtree is the index of a row in its view
)


@given(ROWS, st.sampled_from(below((0,)) + below((1,)) + below((2,))))
def test_an_object_is_decided_as_the_standard_words_it(rows: Sequence[Family], asked: Oid) -> None:
    """Against a reference that is written after the words of the standard."""
    assert includes(tuple(rows), asked) is reference_includes(tuple(rows), asked)


@given(ROWS, st.sampled_from([*SUBTREES, (2,), (0, 2), (2, 1)]))
@settings(max_examples=500)
def test_a_subtree_is_decided_as_all_its_objects_are(rows: Sequence[Family], subtree: Oid) -> None:
    """Some object in the view: found by few witnesses, and by trying every object there is."""
    found = any(reference_includes(tuple(rows), item) for item in below(subtree))
    assert includes_some(tuple(rows), subtree) is found


@given(ROWS, st.sampled_from([*SUBTREES, (2,), (0, 2)]), st.data())
@settings(max_examples=500)
def test_less_knowledge_never_misleads_about_a_subtree(
    rows: Sequence[Family], subtree: Oid, data: st.DataObject
) -> None:
    """Whatever members of rows are left out: what is still decided is decided rightly."""
    keep = st.booleans()
    less = tuple(
        Family(
            row.subtree if data.draw(keep) else None,
            row.mask if data.draw(keep) else None,
            row.type if data.draw(keep) else None,
            data.draw(keep),
        )
        for row in rows
    )
    assert includes_some(less, subtree) in (None, includes_some(tuple(rows), subtree))
