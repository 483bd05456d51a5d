"""Where things stand in the picture of a card's ways: nothing overlaps, every line meets its boxes."""

import itertools
import re

from hypothesis import given

from auditor.facts.reach.way import Way
from auditor.report.html.page import make_html
from auditor.report.html.way_picture import (
    BOX,
    EDGE,
    FROM_WIDTH,
    HEAD,
    LANE_X,
    PILL,
    PROOF_WIDTH,
    PROOF_X,
    TO_X,
    WayPicture,
    way_picture,
)
from auditor.report.reach_view import ordered
from tests.report.sample import assess_cards, make_run, reach_card, reach_in, render
from tests.report.test_reach_view import some_ways

_BOX = re.compile(r'<rect(?: x="(\d+)")? y="(\d+)" width="(\d+)" height="(\d+)"')
_BOW = re.compile(r"M(\d+) (\d+)C\d+ \d+ \d+ \d+ (\d+) (\d+)")


def _ends(path: str) -> tuple[int, int, int, int]:
    found = _BOW.fullmatch(path)
    assert found
    x, y, to_x, to_y = map(int, found.groups())
    return x, y, to_x, to_y


def _assert_it_holds(picture: WayPicture) -> None:
    for blocks in (picture.origins, picture.targets):
        assert all(later.y - earlier.y > BOX for earlier, later in itertools.pairwise(blocks))
        assert all(HEAD <= block.y <= picture.height - BOX for block in blocks)
    lefts, rights = ({block.middle for block in blocks} for blocks in (picture.origins, picture.targets))
    for lane in picture.lanes:
        middle = lane.y + PILL // 2
        x, y, *rest = _ends(lane.comes)
        assert (x, rest) == (FROM_WIDTH, [LANE_X, middle])
        assert y in lefts
        *begin, to_x, to_y = _ends(lane.goes)
        assert (begin, to_x) == ([PROOF_X + PROOF_WIDTH, middle], TO_X)
        assert to_y in rights
        assert lane.y + PILL <= picture.height


@given(some_ways())
def test_nothing_overlaps_and_every_line_meets_its_boxes(found: list[Way]) -> None:
    """Whatever the ways, boxes stand apart, within the picture, and lines end at them."""
    reach = ordered(found)
    picture = way_picture(reach)
    if picture is None:
        assert reach.acting == ()
        return
    _assert_it_holds(picture)
    acting = sum(len(lane.ways) for lane in reach.acting)
    assert picture.left_out < acting
    assert not any(lane.is_thick and not (lane.is_minimal and lane.is_sure) for lane in picture.lanes)


def test_a_card_with_many_places_and_ways_says_what_found_no_room() -> None:
    """More places than boxes: the first are drawn, and the rest is counted."""
    (assessment,) = assess_cards(make_run(), [reach_card()])
    way = reach_in(assessment).ways[0][0]
    many = [
        way._replace(origin=way.origin._replace(any_address=False, prefixes=(f"192.0.2.{n}/32",)))
        for n in range(40)
    ]
    picture = way_picture(ordered(many))
    assert picture is not None
    _assert_it_holds(picture)
    assert (len(picture.origins), len(picture.lanes), picture.left_out) == (8, 8, 32)


def test_the_sample_card_is_drawn_with_its_words() -> None:
    """Channel, parties, what can be heard and the proof stand in the row; unsure ways are told apart."""
    (assessment,) = assess_cards(make_run(), [reach_card()])
    picture = way_picture(reach_in(assessment))
    assert picture is not None
    first = picture.lanes[0]
    assert (first.channels, first.parties, first.heard, first.proof) == (
        "SNMPv2c",
        "community old|one",
        "in clear",
        ("no proof", ""),
    )
    assert picture.targets[0].lines[0] == "switches outputs"
    assert {lane.is_sure for lane in picture.lanes} == {True, False}


def test_no_edge_of_a_box_is_cut_off() -> None:
    """Around each box there is room for the outer half of its line, at the edges of the picture too."""
    run = make_run()
    page = render(make_html, run, assess_cards(run, [reach_card()]), faults=()).decode()
    (left, top, width, height), svg = _picture(page)
    boxes = [tuple(int(each or 0) for each in found) for found in _BOX.findall(svg)]
    assert {x for x, *_ in boxes} >= {0, TO_X}
    for x, y, wide, high in boxes:
        assert left + EDGE <= x < x + wide <= left + width - EDGE
        assert top + EDGE <= y < y + high <= top + height - EDGE


def _picture(page: str) -> tuple[tuple[int, ...], str]:
    """Return the view box of the picture of a page's ways, and its marks."""
    svg = page[page.index('<figure class="ways') :]
    found = re.search(r'viewBox="([^"]*)"', svg)
    assert found
    return tuple(map(int, found[1].split())), svg[: svg.index("</svg>")]
