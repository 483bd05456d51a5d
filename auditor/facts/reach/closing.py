"""Which change of one setting closes ways in: the settings on which each way rests. Holds no facts."""

from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from auditor.facts.reach.way import Way

_COMMANDS = "/shutdown/remote_output_commands/enabled"


class Closing(NamedTuple):
    """A change of one setting that closes ways, and how many of them.

    ``change`` is the change in words. The ways may be the only ones of somebody's work: whoever
    makes the change asks first.
    """

    pointer: str
    change: str
    closes: int


def closings(found: Iterable[Way]) -> tuple[Closing, ...]:
    """Return the single changes that close switching ways; those that close most first, ties by pointer.

    Only ways that are surely open and surely switch are counted.
    """
    counted = Counter(lever for way in found if way.is_open and way.switches for lever in _levers(way))
    ordered = sorted(counted.items(), key=lambda item: (-item[1], item[0]))
    return tuple(Closing(pointer, _words(pointer), closes) for pointer, closes in ordered)


def best_closing(found: Iterable[Way]) -> Closing | None:
    """Return the change that closes the most switching ways; None where there is none to close."""
    return next(iter(closings(found)), None)


def _levers(way: Way) -> frozenset[str]:
    """Return the switches, among the settings of a way, each of which closes it by itself."""
    return frozenset(
        setting
        for setting in way.settings
        if setting.endswith(_SWITCHES) and not setting.startswith("/directory/")
    )


_SWITCHES = ("/enabled", "/allows_write", "/accepts_commands")


def _words(pointer: str) -> str:
    return "don't take output commands over the network" if pointer == _COMMANDS else "set to false"
