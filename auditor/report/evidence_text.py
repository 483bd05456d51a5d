"""Evidence as people read it: figures rounded, and a choice said once for all lines that it is about."""

import re
from collections.abc import Iterator, Sequence
from itertools import groupby

from auditor.rules.evidence import Evidence

_LONG_FIGURE = re.compile(r"-?\d+\.\d{3,}(?= |$)")


def observed_text(evidence: Evidence) -> str:
    """Return what was observed; what a fact worked out with two decimals, where these are enough.

    They are not where the rounded figure is the very one that was expected.
    """
    found = _LONG_FIGURE.match(evidence.observed) if evidence.fact else None
    if found is None:
        return evidence.observed
    figure = f"{float(found[0]):.2f}".rstrip("0").rstrip(".")
    if re.search(rf"(?<![\d.]){re.escape(figure)}(?![\d.])", evidence.expected):
        return evidence.observed
    return figure + evidence.observed[found.end() :]


def with_expected(evidence: Sequence[Evidence]) -> Iterator[tuple[Evidence, str]]:
    """Yield each with what was expected; a choice between several lines stands behind the last of them."""
    for enough, alike in groupby(evidence, key=_enough):
        *others, last = alike
        for each in others:
            yield each, each.expected
        yield last, f"{last.expected} (each: {enough})" if others and enough else last.asked


def _enough(evidence: Evidence) -> str:
    return evidence.enough
