"""Numbers in names: which members a numbered list has, such as ``User 1 name`` and ``User 2 name``."""

from collections.abc import Iterable

from auditor.intake.mapping.place import NUMBER

_LONGEST = 5


def numbers_in(form: str, names: Iterable[str]) -> list[str]:
    """Return the numbers that stand in names of a form, such as ``user # name``, in their order.

    Numbers are as written, of at most five digits, each once.
    """
    before, _, after = form.partition(NUMBER)
    after = after.partition(NUMBER)[0]
    found: dict[str, None] = {}
    for name in names:
        rest = name.removeprefix(before)
        digits = rest[: len(rest) - len(rest.lstrip("0123456789"))]
        if 0 < len(digits) <= _LONGEST and name.startswith(f"{before}{digits}{after}"):
            found[digits] = None
    return sorted(found, key=int)
