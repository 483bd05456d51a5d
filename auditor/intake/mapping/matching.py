"""Settings of a sample matched with settings of the record by name: guesses, each with its similarity."""

from collections.abc import Callable, Iterable, Iterator, Sequence

from auditor.dataclass import dataclass
from auditor.intake.mapping.conversion import convert_items, is_unknown
from auditor.intake.mapping.conversion_error import ConversionError
from auditor.intake.mapping.name_match import similarity, words_of
from auditor.intake.mapping.sample_fields import Field, Group
from auditor.intake.mapping.setting_options import read_conversion
from auditor.record.mask import is_masked
from auditor.record.outline import ANY, Leaf, outline

LEAST = 0.5
"""Similarity below which nothing is guessed; our own figure, by trial."""

_UNFIT = 0.75
"""What a guess loses if the sample's text does not convert; our own figure, by trial."""

_NEVER = frozenset(
    {("card", "id"), ("capture", "method"), ("capture", "source_digest"), ("unmapped",), ("site_notes",)}
)
_LEAST_IN_LIST = 2


@dataclass(frozen=True, slots=True)
class Guess:
    """A setting of a sample and the setting of the record that it most likely is."""

    field: Field
    leaf: Leaf
    alike: float


@dataclass(frozen=True, slots=True)
class ListGuess:
    """A repeated block of a sample, or None for one member, and the list it most likely is."""

    group: Group | None
    leaf: Leaf
    guesses: tuple[Guess, ...]


def match_settings(fields: Sequence[Field]) -> list[Guess]:
    """Return guesses for the settings that stand in no repeated block, in file order."""
    alone = [one for one in fields if one.group is None]
    leaves = [leaf for leaf in outline() if ANY not in leaf.tokens and leaf.kind != "members"]
    return _best(alone, [leaf for leaf in leaves if leaf.tokens not in _NEVER])


def match_lists(fields: Sequence[Field], taken: Iterable[Field]) -> list[ListGuess]:
    """Return guesses for the repeated blocks, then for lists of which a sample has one member."""
    seen = set(taken)
    groups = list(dict.fromkeys(one.group for one in fields if one.group is not None))
    found: list[ListGuess] = []
    used: set[tuple[str, ...]] = set()
    for group in groups:
        inside = [one for one in fields if one.group == group]
        _keep(found, used, _best_list(group, inside, used, least=1))
    alone = [one for one in fields if one.group is None and one not in seen]
    while alone and _keep(found, used, _best_list(None, alone, used, least=_LEAST_IN_LIST)):
        matched = {guess.field for guess in found[-1].guesses}
        alone = [one for one in alone if one not in matched]
    return found


def _keep(found: list[ListGuess], used: set[tuple[str, ...]], one: ListGuess | None) -> bool:
    if one is None:
        return False
    found.append(one)
    used.add(one.leaf.tokens)
    return True


def _best_list(
    group: Group | None, fields: Sequence[Field], used: set[tuple[str, ...]], *, least: int
) -> ListGuess | None:
    candidates = [
        ListGuess(group, leaf, tuple(_best(fields, _members(leaf))))
        for leaf in outline()
        if leaf.kind == "members" and ANY not in leaf.tokens and leaf.tokens not in used
    ]
    worth = [one for one in candidates if len(one.guesses) >= least]
    return max(worth, key=lambda one: sum(guess.alike for guess in one.guesses), default=None)


def _members(of: Leaf) -> list[Leaf]:
    start = (*of.tokens, ANY)
    size = len(start)
    return [
        leaf
        for leaf in outline()
        if leaf.tokens[:size] == start and ANY not in leaf.tokens[size:] and leaf.kind != "members"
    ]


def _best(fields: Sequence[Field], leaves: Sequence[Leaf]) -> list[Guess]:
    """Return the best guesses, each setting of either side at most once, in the order of the fields."""
    ranked = sorted(_ranked(fields, leaves), key=lambda guess: -guess.alike)
    kept: dict[Field, Guess] = {}
    used: set[tuple[str, ...]] = set()
    for guess in ranked:
        if guess.field not in kept and guess.leaf.tokens not in used:
            kept[guess.field] = guess
            used.add(guess.leaf.tokens)
    return [kept[one] for one in fields if one in kept]


def _ranked(fields: Sequence[Field], leaves: Sequence[Leaf]) -> Iterator[Guess]:
    for one in fields:
        own, context = words_of(one.own), words_of(one.context)
        for leaf in leaves:
            alike = similarity(own, context, leaf)
            if alike >= LEAST:
                alike *= 1.0 if _converts(one.text, leaf) else _UNFIT
            if alike >= LEAST:
                yield Guess(one, leaf, alike)


def _converts(text: str, leaf: Leaf) -> bool:
    """Tell whether a text becomes a value as the setting suggests, or says nothing either way."""
    conversion, _ = read_conversion({}, leaf)
    says_nothing = is_masked(text) or is_unknown(text, conversion) or bool(leaf.format)
    return says_nothing or _tries(lambda: convert_items([text], conversion))


def _tries(attempt: Callable[[], object]) -> bool:
    try:
        attempt()
    except ConversionError:
        return False
    return True
