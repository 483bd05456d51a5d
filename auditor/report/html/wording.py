"""Numbers and moments as the page words them. Holds no markup."""

import re
from collections.abc import Sequence
from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal

from auditor.report.figures import one_line, percent_text

_PARAMETER = re.compile(r" \(parameter [a-z0-9_]+\)$")
_TENTH = Decimal("0.1")


def count(number: int, one: str, many: str = "") -> str:
    """Return a number with its noun, such as ``1 card`` or ``2,000 cards``."""
    return f"{number:,} {one if number == 1 else many or f'{one}s'}"


def tenths(value: float | Decimal) -> str:
    """Return a number to one decimal (half up), thousands set apart by commas."""
    return f"{_rounded(value):,}"


def percent(value: float | None) -> str:
    """Return a percentage as every report has it, or ``nothing applies``."""
    return "nothing applies" if value is None else f"{percent_text(value)} %"


def moment(when: datetime) -> str:
    """Return a moment for people, with its offset from UTC."""
    offset = f"{when:%z}"
    return f"{when.day} {when:%B %Y}, {when:%H:%M} (UTC{offset[:3]}:{offset[3:5]})"


def points(value: float) -> str:
    """Return points of a score: two decimals where a share of a weight needs them, else one."""
    hundredths = f"{Decimal(str(value)).quantize(Decimal('0.01'), ROUND_HALF_UP):,}"
    return hundredths.removesuffix("0")


def exact(value: Decimal) -> str:
    """Return a number with at most four decimals, without trailing zeros."""
    return f"{value.quantize(Decimal('0.0001'), ROUND_HALF_UP):f}".rstrip("0").rstrip(".")


def thousands(number: int) -> str:
    """Return a whole number, thousands set apart by commas."""
    return f"{number:,}"


def sentence(text: str) -> str:
    """Return a text of a ruleset as a sentence: a capital first, a full stop last."""
    said = one_line(text)
    return f"{said[:1].upper()}{said[1:]}" + ("" if said.endswith((".", "!", "?")) else ".")


def sources(texts: Sequence[str]) -> str:
    """Return sources in a row, places of one document together: ``NIST SP 800-53r5 AC-2, IA-5``."""
    documents: dict[str, list[str]] = {}
    for text in texts:
        document, _, place = text.rpartition(" ")
        is_place = document and any(map(str.isdigit, place))
        documents.setdefault(document if is_place else text, []).extend([place] if is_place else [])
    return "; ".join(f"{document} {', '.join(places)}".strip() for document, places in documents.items())


def without_parameter(expected: str) -> str:
    """Return what was expected, without the name of the parameter that says so."""
    return _PARAMETER.sub("", expected)


def _rounded(value: float | Decimal) -> Decimal:
    # A float goes by its repr: 6.05 is the number that people see, not the binary one below it.
    return Decimal(str(value)).quantize(_TENTH, ROUND_HALF_UP)
