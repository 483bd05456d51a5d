"""Records with less known: members left out at random, for tests that knowledge never misleads."""

from typing import Any

from hypothesis import strategies as st


def thinned(value: Any, draw: st.DrawFn) -> Any:
    """Return a record with some members of its objects left out; lists keep their length."""
    if isinstance(value, dict):
        kept = {name: inner for name, inner in value.items() if draw(st.integers(0, 3))}
        return {name: thinned(inner, draw) for name, inner in kept.items()}
    return [thinned(item, draw) for item in value] if isinstance(value, list) else value
