"""The four scoring models of XCCDF 1.2, over tallies of results; knows no rules.

Source: NIST IR 7275r4 (XCCDF 1.2) section 7.3.2.
"""

from collections.abc import Iterable, Mapping, Sequence
from enum import StrEnum
from math import fsum
from types import MappingProxyType
from typing import NamedTuple

from auditor.dataclass import dataclass


class Model(StrEnum):
    """A scoring model. Source: NIST IR 7275r4 section 7.3.2."""

    DEFAULT = "default"
    FLAT = "flat"
    FLAT_UNWEIGHTED = "flat-unweighted"
    ABSOLUTE = "absolute"

    @property
    def urn(self) -> str:
        """Return the name of the model in XCCDF documents."""
        return f"urn:xccdf:scoring:{self.value}"


class Tally(NamedTuple):
    """What one rule contributes; a tuple, because a large estate makes millions of them.

    ``counted`` are its results without those that XCCDF leaves out (notapplicable, notselected
    and the like); ``passed`` of these passed. Unknowns and errors count, and have not passed.
    ``group`` is the group that the rule is in, empty where it is in none.
    """

    weight: float
    passed: int
    counted: int
    group: str = ""


@dataclass(frozen=True, slots=True)
class Score:
    """Points of a maximum; ``percent`` is 0 to 100, or None where nothing was assessed."""

    points: float
    maximum: float
    percent: float | None


NOTHING_ASSESSED = Score(0.0, 0.0, None)

_ALL_ONE: Mapping[str, float] = MappingProxyType({})


def score(
    tallies: Iterable[Tally], model: Model = Model.FLAT, group_weights: Mapping[str, float] = _ALL_ONE
) -> Score:
    """Return the score of some tallies by a model; their order never matters.

    A group weighs 1 unless ``group_weights`` says otherwise; only the default model asks.
    """
    counted = [tally for tally in tallies if tally.counted]
    if not counted:
        return NOTHING_ASSESSED
    match model:
        case Model.DEFAULT:
            return _default(counted, group_weights)
        case Model.FLAT:
            return _flat(counted)
        case Model.FLAT_UNWEIGHTED:
            return _flat([tally._replace(weight=1.0) for tally in counted if tally.weight])
        case Model.ABSOLUTE:
            return _absolute(counted)


def _default(tallies: Sequence[Tally], group_weights: Mapping[str, float]) -> Score:
    groups: dict[str, list[Tally]] = {}
    for tally in tallies:
        groups.setdefault(tally.group, []).append(tally)
    children = [(_share(tally), tally.weight) for tally in groups.pop("", ())]
    for name, members in groups.items():
        inner = _mean([(_share(tally), tally.weight) for tally in members])
        children.append((inner, group_weights.get(name, 1.0)))
    share = _mean(children)
    return Score(100 * share, 100.0, 100 * share)


def _mean(children: Sequence[tuple[float, float]]) -> float:
    """Return the weighted mean of pairs of share and weight; 0 where every weight is 0."""
    whole = fsum(weight for _, weight in children)
    return fsum(share * weight for share, weight in children) / whole if whole else 0.0


def _share(tally: Tally) -> float:
    # 0 to 1, and not 0 to 100 yet: a perfect share leaves its weight as it is, to the last digit.
    return tally.passed / tally.counted


def _flat(tallies: Sequence[Tally]) -> Score:
    # fsum rounds once, at the end: the order of the rules can't move the last digit. Tuples are
    # unpacked and lists built because this runs once a card.
    points = fsum([weight * (passed / counted) for weight, passed, counted, _ in tallies])
    return _of(points, fsum([weight for weight, _, _, _ in tallies]))


def _absolute(tallies: Sequence[Tally]) -> Score:
    perfect = all(tally.passed == tally.counted for tally in tallies if tally.weight)
    return _of(1.0 if perfect else 0.0, 1.0)


def _of(points: float, maximum: float) -> Score:
    return Score(points, maximum, 100 * (points / maximum) if maximum else None)
