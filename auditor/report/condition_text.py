"""Conditions in words, for people who read a rule."""

from collections.abc import Iterator

from auditor.rules.condition import AllOf, AnyOf, Condition, Leaf, Negation, Quantified, Subject
from auditor.rules.evidence import expected


def condition_lines(condition: Condition, units: dict[str, str], indent: str = "") -> Iterator[str]:
    """Yield the lines that say a condition in words; ``units`` maps facts and parameters to units."""
    match condition:
        case Leaf():
            yield indent + leaf_text(condition, units)
        case AllOf(parts):
            yield from _joined("all of these", parts, units, indent)
        case AnyOf(parts):
            yield from _joined("at least one of these", parts, units, indent)
        case Negation(part):
            yield from _joined("not", (part,), units, indent)
        case Quantified(every=every, pointer=pointer, part=part):
            quantity = "every" if every else "some"
            yield from _joined(f"{quantity} member of {pointer} has", (part,), units, indent)


def leaf_text(leaf: Leaf, units: dict[str, str]) -> str:
    """Return one comparison in words, such as ``/services/telnet/enabled: false``."""
    names = {
        Subject.ITS: f"its {leaf.name}",
        Subject.FACT: f"fact {leaf.name}",
        Subject.PARAMETER: f"parameter {leaf.name}",
    }
    subject = names.get(leaf.subject, leaf.name)
    unit = units.get(leaf.name if leaf.subject is Subject.FACT else leaf.parameter, "")
    return f"{subject}: {expected(leaf, unit)}"


def _joined(words: str, parts: tuple[Condition, ...], units: dict[str, str], indent: str) -> Iterator[str]:
    yield f"{indent}{words}:"
    for part in parts:
        yield from condition_lines(part, units, f"{indent}  ")
