"""Which change of one setting closes ways in: the settings on which each way rests. Holds no facts."""

from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from auditor.facts.reach.way import Place, Way

_COMMANDS = "/shutdown/remote_output_commands/enabled"


class Closing(NamedTuple):
    """A change of one setting that closes ways, and how many of them.

    ``change`` is the change in words. ``unsure`` counts the ways that are then no longer known to
    switch, but may. The ways may be the only ones of somebody's work: whoever makes the change asks first.
    """

    pointer: str
    change: str
    closes: int
    unsure: int = 0

    @property
    def shuts_out(self) -> bool:
        """Return whether whoever came in by these ways no longer gets in at all."""
        return self.pointer.endswith("/enabled") and self.pointer != _COMMANDS


def closings(found: Iterable[Way]) -> tuple[Closing, ...]:
    """Return the single changes that close switching ways; those that close most first.

    Of several that close as many, those that shut nobody out come first; then ties go by pointer.
    Only ways that are surely open and surely switch are counted, and only changes that close some.
    """
    closed, unsure = Counter[str](), Counter[str]()
    for way in found:
        if way.is_open and way.switches:
            for lever in _levers(way):
                (unsure if _leaves_unsure(lever, way) else closed)[lever] += 1
    made = (Closing(pointer, _words(pointer), closes, unsure[pointer]) for pointer, closes in closed.items())
    return tuple(sorted(made, key=lambda each: (-each.closes, each.shuts_out, each.pointer)))


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


def _leaves_unsure(lever: str, way: Way) -> bool:
    """Return whether a way may still switch: what a console takes then the record doesn't tell."""
    return lever == _COMMANDS and way.origin.place is Place.PRESENCE


_SWITCHES = ("/enabled", "/allows_write", "/accepts_commands")


def _words(pointer: str) -> str:
    return "don't take output commands over the network" if pointer == _COMMANDS else "set to false"
