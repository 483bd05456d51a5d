"""Numbers and moments as the page words them. Holds no markup."""

from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal

_TENTH = Decimal("0.1")
_ALMOST = Decimal("99.9")
_WHOLE = 100


def count(number: int, one: str, many: str = "") -> str:
    """Return a number with its noun, such as ``1 card`` or ``2,000 cards``."""
    return f"{number:,} {one if number == 1 else many or f'{one}s'}"


def tenths(value: float | Decimal) -> str:
    """Return a number to one decimal (half up), thousands set apart by commas."""
    return f"{_rounded(value):,}"


def percent(value: float | None) -> str:
    """Return a percentage to one decimal; anything below a hundred stays below ``100.0 %``."""
    if value is None:
        return "nothing applies"
    shown = _rounded(value)
    return f"{min(shown, _ALMOST) if value < _WHOLE else shown} %"


def moment(when: datetime) -> str:
    """Return a moment for people, with its offset from UTC."""
    offset = f"{when:%z}"
    return f"{when.day} {when:%B %Y}, {when:%H:%M} (UTC{offset[:3]}:{offset[3:5]})"


def _rounded(value: float | Decimal) -> Decimal:
    # A float goes by its repr: 6.05 is the number that people see, not the binary one below it.
    return Decimal(str(value)).quantize(_TENTH, ROUND_HALF_UP)
