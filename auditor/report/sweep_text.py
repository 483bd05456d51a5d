"""What a sweep came to, for the terminal: the verdict, what changed since the last, where to read on."""

import shlex
from collections.abc import Iterator, Sequence

from auditor.fleet.estate import EstateSummary
from auditor.history.changes import Changes
from auditor.history.fate import Fate
from auditor.report.figures import percent_text
from auditor.report.ink import OF_BAND, Ink, Style
from auditor.report.layout import wrap
from auditor.report.plain import plain
from auditor.report.verdict import counted, verdict
from auditor.report.writer import Look

_NAMED_CARDS = 6


def sweep_text(store: str, summary: EstateSummary, changes: Changes | None, look: Look) -> str:
    """Return the text on a sweep that was appended to a store, no wider than the look allows."""
    said = verdict(summary)
    word = said.word.upper()
    style = OF_BAND[summary.open_worst.value] if summary.held else Style.GOOD
    first, *rest = wrap(f"{word}: {said.reason}", look.width)
    lines = [Ink(look.colour)(word, style) + first.removeprefix(word), *rest]
    for sentence in _sentences(store, summary, changes):
        lines += wrap(plain(sentence), look.width, later="  ")
    return "\n".join(lines)


def _sentences(store: str, summary: EstateSummary, changes: Changes | None) -> Iterator[str]:
    whole = summary.whole
    score, coverage = percent_text(whole.score.percent), percent_text(whole.coverage_percent)
    yield (
        f"Appended to {store}: {counted(whole.cards, 'card')}, score {score}, coverage {coverage} %, "
        f"worst {summary.worst.value}."
    )
    if changes is None:
        yield "It is the first sweep of its series: the next one shows what changed."
    else:
        yield f"Since the sweep of {changes.since:%Y-%m-%d}: {'; '.join(_changed(changes))}."
    yield f"Read on: witnessmark history --store {shlex.quote(store)}"


_FATES = (
    (Fate.MENDED, "mended"),
    (Fate.OPEN, "still open"),
    (Fate.LOST, "no longer known"),
    (Fate.WITHDRAWN, "no longer judged"),
)


def _changed(changes: Changes) -> Iterator[str]:
    yield f"{counted(changes.new, 'finding')} new"
    for fate, said in _FATES:
        if changes.fates[fate] or fate in (Fate.MENDED, Fate.OPEN):
            yield f"{changes.fates[fate]} {said}"
    if changes.new_cards:
        yield f"{counted(len(changes.new_cards), 'card')} new: {_named(changes.new_cards)}"
    if changes.missing_cards:
        yield f"{counted(len(changes.missing_cards), 'card')} missing: {_named(changes.missing_cards)}"


def _named(cards: Sequence[str]) -> str:
    more = len(cards) - _NAMED_CARDS
    return ", ".join(cards[:_NAMED_CARDS]) + (f" and {more} more" if more > 0 else "")
