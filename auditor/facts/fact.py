"""What a fact is: a named, sourced, pure function of a record. Holds no facts."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any, TypeAlias

from auditor.dataclass import dataclass, field
from auditor.facts.crypt_hash import SHORT_LIST
from auditor.record.settings import Settings as Settings  # noqa: PLC0414 - facts take it from here

FactValue: TypeAlias = bool | int | float | str | Sequence[str] | None
"""What a fact may say. None means *unknown*. Never a secret: reports show it."""


@dataclass(frozen=True, slots=True)
class Context:
    """What a fact may know beside the record.

    ``as_of`` is the moment of the audit (aware, any offset): the core never asks the clock.
    ``words`` are well-known secrets, lower case; ``own_words`` are those among them that only the
    site's own list holds, and ``word_list`` is the digest by which that list is known again,
    empty where the site has none. ``coverage_percent`` is the share of the
    applicable results that are decided; it is known only to rules that judge the evidence.
    ``word_keys`` are, by SNMP authentication protocol, the keys (Ku) of the well-known words;
    without them localized keys stay unknown. ``hash_words`` are tried on each crypt hash,
    beside the account's own name; an empty tuple switches the trying off. ``in_work_tree``
    tells whether the record's file lies in a version-control work tree; None: nobody looked.
    """

    as_of: datetime
    words: frozenset[str] = frozenset()
    coverage_percent: float | None = None
    word_keys: Mapping[str, tuple[bytes, ...]] = field(default_factory=dict)
    hash_words: tuple[str, ...] = SHORT_LIST
    in_work_tree: bool | None = None
    own_words: frozenset[str] = frozenset()
    word_list: str = ""

    def with_coverage(self, coverage_percent: float | None) -> "Context":
        """Return the context in which it is judged how much is known of a card; every card asks for one."""
        return Context(
            self.as_of,
            self.words,
            coverage_percent,
            self.word_keys,
            self.hash_words,
            self.in_work_tree,
            self.own_words,
            self.word_list,
        )


@dataclass(frozen=True, slots=True)
class Fact:
    """A named value computed from a record.

    ``about`` is the JSON Pointer of the list whose members the fact is about, or empty for a
    fact about the card. ``reads`` are the pointers of the settings it rests on, relative to
    the member if there is one; the first is the place that a finding points at. ``unit`` is
    empty for words and truths. ``by_day`` is true where the fact asks for the moment of the
    audit: all others say the same of a record on every day.

    ``basis`` is what several facts share: it is computed once a record, and ``compute`` is then
    given its value alone. ``places`` tells of the basis and the record which settings decided, in
    place of ``reads``; it is asked only where evidence is wanted.
    """

    name: str
    summary: str
    about: str
    unit: str
    reads: tuple[str, ...]
    source: str
    compute: Callable[..., FactValue]
    by_day: bool = False
    basis: Callable[[Settings, Context], object] | None = None
    places: Callable[..., Sequence[str]] | None = None

    def __call__(self, *given: Any) -> FactValue:  # noqa: ANN401 - a member comes first, or not
        """Compute: ``(record, context)``, or ``(member, record, context)`` about a member."""
        return self.compute(*given) if self.basis is None else self.compute(self.basis(*given))


def fact(
    *, reads: Sequence[str], source: str, unit: str = "", about: str = "", by_day: bool = False
) -> Callable[[Callable[..., FactValue]], Fact]:
    """Make a fact of a function; its name and the first line of its docstring go along."""

    def made(compute: Callable[..., FactValue]) -> Fact:
        summary = (compute.__doc__ or "").strip().split("\n")[0]
        return Fact(compute.__name__, summary, about, unit, tuple(reads), source, compute, by_day)

    return made
