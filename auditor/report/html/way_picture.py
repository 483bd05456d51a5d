"""Where everything stands in the picture of a card's ways in, in SVG user units. Draws nothing itself.

Columns from left to right: from where, over what and by whom, the proof, what it allows. A row is
a lane; lines join it to its place on the left and to what it allows on the right.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Final

from auditor.dataclass import dataclass
from auditor.facts.reach.way import Origin, Proof
from auditor.report.reach_view import CardReach, Lane
from auditor.report.way_words import (
    CHANGES,
    MAY_CHANGE,
    MAY_SWITCH,
    PROOFS,
    SWITCHES,
    addresses_words,
    between_words,
    origin_words,
)

WIDTH: Final = 1000
EDGE: Final = 2
"""Room left and right of the boxes for the outer half of their lines."""
HEAD: Final = 30
ROW: Final = 40
BOX: Final = 46
FROM_WIDTH: Final = 196
LANE_X: Final = 262
LANE_WIDTH: Final = 306
PROOF_X: Final = 592
PROOF_WIDTH: Final = 152
TO_X: Final = 812
TO_WIDTH: Final = WIDTH - TO_X
PILL: Final = 34
HEADS: Final = (
    (0, "From where"),
    (LANE_X, "Over what, and who"),
    (PROOF_X, "Proof it asks for"),
    (TO_X, "What it allows"),
)

_MOST_LANES: Final = 18
_MOST_ORIGINS: Final = 8
_BEND: Final = 34
_LETTERS: Final = 44
_PITCH: Final = BOX + 6

_TO: Final = {
    SWITCHES: ("switches outputs", "at once"),
    MAY_SWITCH: ("may switch outputs", "not known for certain"),
    CHANGES: ("changes settings,", "so can open a way"),
    MAY_CHANGE: ("may change settings", "not known for certain"),
}


@dataclass(frozen=True, slots=True)
class Block:
    """A box with two lines of text, its upper edge at ``y``; ``says`` is the whole text."""

    y: int
    lines: tuple[str, str]
    says: str

    @property
    def middle(self) -> int:
        """Return the height at which lines meet the box."""
        return self.y + BOX // 2


@dataclass(frozen=True, slots=True)
class Drawn:
    """A lane where it stands: its texts, and its two lines as SVG path data."""

    y: int
    sign: str
    is_minimal: bool
    is_thick: bool
    is_sure: bool
    channels: str
    parties: str
    heard: str
    proof: tuple[str, str]
    comes: str
    goes: str


@dataclass(frozen=True, slots=True)
class WayPicture:
    """The picture of one card. ``left_out`` counts the ways that could act but found no room."""

    origins: tuple[Block, ...]
    lanes: tuple[Drawn, ...]
    targets: tuple[Block, ...]
    height: int
    left_out: int


def way_picture(reach: CardReach) -> WayPicture | None:
    """Return the picture of the ways by which outputs or settings can be touched; None without any."""
    acting = reach.acting
    lanes = _with_few_origins(acting[:_MOST_LANES])
    if not lanes:
        return None
    height = len(lanes) * ROW
    lines = {_from_text(lane): _from_lines(lane.way.origin) for lane in lanes}
    origins = _blocks(_heights(lanes, _from_text), height, lines.__getitem__)
    targets = _blocks(_heights(lanes, _to_text), height, _TO.__getitem__)
    by_origin = {block.says: block.middle for block in origins}
    by_target = {block.says: block.middle for block in targets}
    drawn = tuple(
        _drawn(lane, HEAD + ROW * place, by_origin[_from_text(lane)], by_target[lane.allows])
        for place, lane in enumerate(lanes)
    )
    bottom = max(HEAD + height, *(block.y + BOX for block in (*origins, *targets))) + 2
    left_out = sum(len(lane.ways) for lane in acting) - sum(len(lane.ways) for lane in lanes)
    return WayPicture(origins, drawn, targets, bottom, left_out)


def _with_few_origins(lanes: Sequence[Lane]) -> tuple[Lane, ...]:
    """Return the lanes of the first origins: boxes need more room than rows."""
    kept = tuple(dict.fromkeys(map(_from_text, lanes)))[:_MOST_ORIGINS]
    return tuple(lane for lane in lanes if _from_text(lane) in kept)


def _from_text(lane: Lane) -> str:
    return origin_words(lane.way.origin)


def _to_text(lane: Lane) -> str:
    return lane.allows


def _from_lines(origin: Origin) -> tuple[str, str]:
    first, _, rest = origin_words(origin).partition(", ")
    addresses = addresses_words(origin)
    if addresses and rest:
        first = f"{first} and {len(origin.prefixes or ()) - 1} more"
    return _cut(first, 27), _cut(addresses or rest, 32)


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"


def _heights(lanes: Iterable[Lane], named: Callable[[Lane], str]) -> Mapping[str, float]:
    """Return what lanes are joined to, each with the mean height of its lanes, the uppermost first."""
    middles: dict[str, list[int]] = {}
    for place, lane in enumerate(lanes):
        middles.setdefault(named(lane), []).append(HEAD + ROW * place + PILL // 2)
    means = {says: sum(found) / len(found) for says, found in middles.items()}
    return dict(sorted(means.items(), key=lambda item: item[1]))


def _blocks(
    heights: Mapping[str, float], height: int, lines_of: Callable[[str], tuple[str, str]]
) -> tuple[Block, ...]:
    """Return boxes as near to their heights as they can stand without touching."""
    lowest = HEAD + max(height, _PITCH * len(heights)) - _PITCH * len(heights)
    blocks, free = list[Block](), HEAD
    for place, (says, mean) in enumerate(heights.items()):
        y = min(max(free, round(mean) - BOX // 2), lowest + _PITCH * place)
        blocks.append(Block(y, lines_of(says), says))
        free = y + _PITCH
    return tuple(blocks)


def _drawn(lane: Lane, y: int, origin: int, target: int) -> Drawn:
    middle = y + PILL // 2
    heard = ", ".join(_heard(lane))
    return Drawn(
        y,
        lane.way.proof.value,
        lane.is_minimal,
        lane.is_minimal and lane.is_sure,
        lane.is_sure,
        _cut(", ".join(lane.channels), 25 if lane.is_minimal else 38),
        _cut(", ".join(lane.parties), _LETTERS - len(heard)),
        heard,
        _proof_lines(lane),
        _bow(FROM_WIDTH, origin, LANE_X, middle),
        _bow(PROOF_X + PROOF_WIDTH, middle, TO_X, target),
    )


def _heard(lane: Lane) -> Iterator[str]:
    if lane.way.is_open is None:
        yield "may be open"
    if lane.way.in_clear is not False:
        yield "in clear" if lane.way.in_clear else "clear?"


def _proof_lines(lane: Lane) -> tuple[str, str]:
    if lane.way.proof is not Proof.UNKNOWN:
        return PROOFS[lane.way.proof], ""
    return "not known", between_words(lane.way.grade)


def _bow(x: int, y: int, to_x: int, to_y: int) -> str:
    return f"M{x} {y}C{x + _BEND} {y} {to_x - _BEND} {to_y} {to_x} {to_y}"
