"""What rules say of a card where it is not the usual thing, and the parts of it that many cards share."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property

from auditor.dataclass import dataclass
from auditor.rules.result import RuleResult


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """Results without departures that come together; equal only to itself.

    They are of rules on one list, or on the card, that apply to the same: either none of them
    applies, or equally many results of each pass. So there are few, made once, and what is
    worked out of one holds for every card that has it. ``counted`` is how many results of its
    rules count, less those that usually do.
    """

    results: Mapping[int, RuleResult]
    counted: int


def batch_of(results: Mapping[int, RuleResult]) -> Batch:
    """Return the batch of some results, by place in the program's rules."""
    counted = sum(result.counted - (not result.rule.for_each) for result in results.values())
    return Batch(results, counted)


def joined(batches: Iterable[Batch]) -> Batch:
    """Return several batches, of rules that no other of them holds, as one."""
    results: dict[int, RuleResult] = {}
    counted = 0
    for batch in batches:
        results.update(batch.results)
        counted += batch.counted
    return Batch(results, counted)


class Unusual(Mapping[int, RuleResult]):
    """The results that differ from the program's usual ones, by place in its rules.

    ``single`` are those that stand in no batch: all that have departures, and some that have none.
    """

    def __init__(self, batches: Sequence[Batch], single: Mapping[int, RuleResult]) -> None:
        """Take both in; no place stands in both."""
        self.batches = batches
        self.single = single

    def and_also(self, other: "Unusual") -> "Unusual":
        """Return what stands in either; of a place in both, what ``other`` says."""
        return Unusual((*self.batches, *other.batches), {**self.single, **other.single})

    @cached_property
    def _all(self) -> Mapping[int, RuleResult]:
        found: dict[int, RuleResult] = {}
        for batch in self.batches:
            found.update(batch.results)
        return {**found, **self.single}

    def __getitem__(self, place: int) -> RuleResult:
        """Return the result of a rule."""
        return self._all[place]

    def __iter__(self) -> Iterator[int]:
        """Iterate over the places."""
        return iter(self._all)

    def __len__(self) -> int:
        """Return how many results are unusual."""
        return len(self._all)
