"""Masked values: what a page or an export shows in the place of a secret. They are no secrets.

What counts as a mask is common practice, no source.
"""

import re
from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

MASKED = "a masked value is not a secret"
LEAVE_OUT = "Leave the member out: it is unknown."

_DOTS = (
    "*",
    "\N{BULLET}",
    "\N{BULLET OPERATOR}",
    "\N{BLACK CIRCLE}",
    "\N{MEDIUM BLACK CIRCLE}",
    "\N{FULLWIDTH ASTERISK}",
)
_WORDS = "hidden|masked|redacted|removed|suppressed|not shown|unchanged|secret|password"
_MASK = rf"[{''.join(_DOTS)}]+|[<\[({{*]+ ?(?i:{_WORDS}) ?[>\])}}*]+"
_BEGINNINGS = frozenset((*_DOTS, *"<[({"))


def is_masked(value: str) -> bool:
    """Tell whether a value only stands in the place of a secret, such as asterisks."""
    return value[:1] in _BEGINNINGS and _pattern().fullmatch(value) is not None


def holds_masked(secrets: Iterable[tuple[str, Mapping[str, Any]]]) -> bool:
    """Tell whether one of the secrets of a record, with their kinds, is masked; none is wrapped yet."""
    for _, secret in secrets:
        clear = secret.get("clear")
        if clear and clear[0] in _BEGINNINGS and is_masked(clear):  # few begin like a mask
            return True
    return False


@cache
def _pattern() -> re.Pattern[str]:
    return re.compile(_MASK)
