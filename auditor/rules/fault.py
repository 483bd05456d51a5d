"""Faults of a ruleset while it is read: collected, so that all are reported together."""

from collections.abc import Iterable
from dataclasses import dataclass, field

_SHORT_LIST = 12


@dataclass(frozen=True, slots=True)
class RuleFault:
    """One fault, at a path of keys and indexes in the TOML document."""

    path: tuple[str | int, ...]
    problem: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Faults:
    """Faults found so far. The one list here grows while a file is read, and only then."""

    found: list[RuleFault] = field(default_factory=list)

    def add(self, path: tuple[str | int, ...], problem: str, remedy: str) -> None:
        """Note one fault."""
        self.found.append(RuleFault(path, problem, remedy))


def nearest(word: str, known: Iterable[str]) -> str:
    """Return a remedy that names the nearest known word, or else lists the known ones.

    Of more than twelve known words it lists the twelve that are least unlike.
    """
    from difflib import get_close_matches  # only a fault needs it

    words = sorted(known)
    close = get_close_matches(word, words, n=1, cutoff=0.5)
    if close:
        return f"Did you mean {close[0]}?"
    if len(words) > _SHORT_LIST:
        likest = get_close_matches(word, words, n=_SHORT_LIST, cutoff=0.0)
        return f"Known, among {len(words)}: {', '.join(sorted(likest))}."
    return f"Known: {', '.join(words)}." if words else "There is none to name here."
