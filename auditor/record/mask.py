"""Masked values: what a page or an export shows in the place of a secret. They are no secrets.

What counts as a mask is common practice, no source.
"""

import re

MASKED = "a masked value is not a secret"
LEAVE_OUT = "Leave the member out: it is unknown."

_DOTS = "|".join(
    re.escape(dot)
    for dot in (
        "*",
        "\N{BULLET}",
        "\N{BULLET OPERATOR}",
        "\N{BLACK CIRCLE}",
        "\N{MEDIUM BLACK CIRCLE}",
        "\N{FULLWIDTH ASTERISK}",
    )
)
_WORDS = "hidden|masked|redacted|removed|suppressed|not shown|unchanged|secret|password"
_MASK = rf"(?:{_DOTS})+|[<\[({{*]+ ?(?i:{_WORDS}) ?[>\])}}*]+"
_WHOLE = re.compile(_MASK)
_WRITTEN = re.compile(f'"clear":"(?:{_MASK})"'.encode())


def is_masked(value: str) -> bool:
    """Tell whether a value only stands in the place of a secret, such as asterisks."""
    return _WHOLE.fullmatch(value) is not None


def holds_masked(compact: bytes) -> bool:
    """Tell whether a record, written as JSON without blanks or needless escapes, holds a masked secret."""
    return _WRITTEN.search(compact) is not None
