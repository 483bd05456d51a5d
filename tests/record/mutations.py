"""Changes to the compliant card that a careless hand, or a hostile one, might make."""

import copy
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import orjson
from hypothesis import strategies as st

from auditor.record.settings import Settings

COMPLIANT = Path(__file__).parents[2] / "fixtures" / "cards" / "compliant.json"

Steps = tuple[str | int, ...]

_VALUES: tuple[object, ...] = (
    *(None, True, False, 0, -1, 1.0, 1.5, 33, 70000, 1e300),
    *(
        "",
        " ",
        "x",
        "é\n",
        "a" * 5000,
        "****",
        "true",
        "12 s",
        "ups",
        "administrator",
        "a@b",
        "a@b\x1c",
        "tls_1_2",
    ),
    *(
        "2026-02-30",
        "2024-02-29",
        "0000-01-01",
        "2026-11-25\n",
        "2026-11-25T12:00:00",
        "2026-02-30T12:00:00Z",
    ),
    *("2026-11-25T12:00:00+00:00", "2026-11-25T23:59:60Z"),
    *("192.0.2.1", "192.0.2.256", "2001:db8::1", "::1\n", "10.0.0.0/33"),
    *([], {}, [None], [{}], ["v1", "v1"], [1, True], [[1], [1]]),
    *({"any": True}, {"any": False}, {"any": True, "prefixes": []}, {"prefixes": ["192.0.2.0/24", 7]}),
    *({"clear": "x"}, {"clear": ""}, {"clear": 1}, {"clear": "x", "empty": True}, {"sealed": {"length": 0}}),
    *({"crypt": "$6$"}, {"localized": "00"}, {"pem": "x", "subject": "y"}, {"subject": "y", "extra": 1}),
)
_NAMES = ("enabled", "clear", "prefixes", "any", "pem", "id", "nmae", "ünknown", "a/b~c", "")


def compliant() -> Settings:
    """Return a fresh copy of the compliant card."""
    card: Settings = orjson.loads(COMPLIANT.read_bytes())
    return card


def places(value: object, steps: Steps = ()) -> Iterator[Steps]:
    """Yield the steps to every value below the top."""
    inner: Iterator[tuple[str | int, object]] = iter(())
    if isinstance(value, dict):
        inner = iter(value.items())
    elif isinstance(value, list):
        inner = iter(enumerate(value))
    for step, below in inner:
        yield (*steps, step)
        yield from places(below, (*steps, step))


def holder(card: Settings, steps: Steps) -> Any:
    """Return what holds the value at the end of the steps."""
    node: Any = card
    for step in steps[:-1]:
        node = node[step]
    return node


def _fresh(value: object) -> Any:
    """Return a copy: a later change may go inside it, and must not reach the list of values."""
    return copy.deepcopy(value)


@st.composite
def mutated(draw: st.DrawFn) -> Settings:
    """Draw a compliant card with one to four changes, most of them wrong."""
    card = compliant()
    for _ in range(draw(st.integers(1, 4))):
        steps = draw(st.sampled_from(list(places(card))))
        inside = holder(card, steps)
        change = draw(st.sampled_from(["replace", "remove", "add"]))
        if change == "replace":
            inside[steps[-1]] = _fresh(draw(st.sampled_from(_VALUES)))
        elif change == "remove":
            del inside[steps[-1]]
        elif isinstance(inside, dict):
            inside[draw(st.sampled_from(_NAMES))] = _fresh(draw(st.sampled_from(_VALUES)))
        else:
            inside.append(_fresh(draw(st.sampled_from(_VALUES))))
    # One change may put a value in many places at once: writing and reading parts them again.
    fresh: Settings = orjson.loads(orjson.dumps(card))
    return fresh
