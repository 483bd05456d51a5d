"""Which settings a rule rests on: those that it names, and those of its facts. Judges nothing."""

from collections.abc import Iterable, Iterator, Mapping

from auditor.facts.fact import Fact
from auditor.record.pointer import split
from auditor.rules.condition import AllOf, AnyOf, Condition, Leaf, Negation, Quantified, Subject
from auditor.rules.rule import Rule

_ANY = "*"


def rests_on(rule: Rule, pointer: str, facts: Mapping[str, Fact]) -> bool:
    """Tell whether a rule reads a setting, something in it, or something around it.

    A rule about the ways in or the whole record, whose facts read more than they name, may be missed.
    """
    tokens = split(pointer)
    return any(_overlap(read, tokens) for read in _reads(rule, facts))


def _reads(rule: Rule, facts: Mapping[str, Fact]) -> Iterator[tuple[str, ...]]:
    base = (*rule.for_each_tokens, _ANY) if rule.for_each else ()
    yield from (rule.for_each_tokens,) if rule.for_each else ()
    for part in (rule.applies_when, rule.require):
        yield from _of(part, base, facts) if part is not None else ()


def _of(condition: Condition, base: tuple[str, ...], facts: Mapping[str, Fact]) -> Iterator[tuple[str, ...]]:
    match condition:
        case Leaf():
            yield from _of_leaf(condition, base, facts)
        case AllOf(parts) | AnyOf(parts):
            for part in parts:
                yield from _of(part, base, facts)
        case Negation(part):
            yield from _of(part, base, facts)
        case Quantified():
            yield condition.tokens
            yield from _of(condition.part, (*condition.tokens, _ANY), facts)


def _of_leaf(leaf: Leaf, base: tuple[str, ...], facts: Mapping[str, Fact]) -> Iterator[tuple[str, ...]]:
    if leaf.subject is Subject.AT:
        yield leaf.tokens
    elif leaf.subject is Subject.ITS:
        yield (*base, *leaf.tokens)
    elif leaf.subject is Subject.FACT:
        fact = facts[leaf.name]
        inside = (*split(fact.about), _ANY) if fact.about else ()
        yield from ((*inside, *split(read)) for read in fact.reads)


def _overlap(read: Iterable[str], tokens: tuple[str, ...]) -> bool:
    """Tell whether one of two places is the other, or around it; ``*`` stands for any place in a list."""
    return all(one in (_ANY, other) or other == _ANY for one, other in zip(read, tokens, strict=False))
