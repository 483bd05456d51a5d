"""What one can rely on of time, in words for every report: on battery, in the log, by the clock.

Of a card its shutdown, its log and its clock; of an estate whose events can be put in order. Only
words and rows stand here: the facts compute, no format is held.
"""

from collections.abc import Iterator
from math import ceil, floor
from typing import Final, NamedTuple

from auditor.facts.clock import clock_uncertainty_s
from auditor.facts.fact import Context, Settings
from auditor.facts.log import chance_of_wrap, days_lost, log_days
from auditor.facts.shutdown import (
    PowerLoss,
    largest_safe_delay_s,
    power_losses,
    shutdown_available_s,
    shutdown_needed_s,
)
from auditor.fleet.clock_sums import SiteClocks
from auditor.report.figures import percent_text
from auditor.report.plain import plain
from auditor.report.verdict import counted
from auditor.report.writer import Run
from auditor.scoring.assessment import CardAssessment

TITLE: Final = "Time: on battery, in the log, by the clock"
NOT_KNOWN: Final = "not known"

ORDER_TITLE: Final = "Whose events can be put in order"
ORDER_INTRODUCTION: Final = (
    "Which of two cards saw a fault first is told only where the times of the two events are further "
    "apart than both clocks together may be off: the offset measured at the capture, a second where "
    "a clock was read in whole seconds, and the drift until a card next asks for the time (15 ppm, RFC "
    "5905). Where one of these was not captured, or the clock is set by hand, nothing bounds it."
)

_WITHOUT_BATTERY: Final = frozenset({"pdu", "transfer_switch", "probe_hub"})
_MINUTES_FROM: Final = 600
_MINUTE: Final = 60
_LEAST_CHANCE: Final = 0.001


class TimeRow(NamedTuple):
    """One thing that time decides on a card, and what is known of it in a sentence.

    ``name`` is a name from the record that the sentence begins with, if any: each format escapes it
    in its own way.
    """

    what: str
    says: str
    name: str = ""

    @property
    def sentence(self) -> str:
        """Return the whole sentence as plain text."""
        return f"{plain(self.name)}, {self.says}" if self.name else self.says


class OrderRow(NamedTuple):
    """A site: its cards, how far apart events must be, and the cards that make it so.

    ``loosest`` is the card whose clock may be off the most, empty without one, and ``off`` by how
    much; nothing bounds the clocks of ``unbounded`` and of ``more`` cards beside them. Names stand as
    the records have them.
    """

    site: str
    cards: int
    apart: str
    loosest: str
    off: str
    unbounded: tuple[str, ...]
    more: int


def times_of(run: Run, assessment: CardAssessment) -> tuple[TimeRow, ...]:
    """Return what time decides on a card; nothing for a card without what it was judged by."""
    return () if assessment.basis is None else tuple(_rows(run, *assessment.basis))


def order_rows(clocks: tuple[SiteClocks, ...], most: int) -> list[OrderRow]:
    """Return the sites with several cards, those first where least can be told, at most so many."""
    return [_order_row(each) for each in clocks[:most]]


def _order_row(clocks: SiteClocks) -> OrderRow:
    apart = "no two cards" if clocks.apart_s is None else f"more than {_rounded_up(clocks.apart_s)} apart"
    loosest, off = "", ""
    if clocks.loosest:
        loosest, off = clocks.loosest[0].card_id, _rounded_up(clocks.loosest[0].uncertainty_s)
    more = clocks.unbounded - len(clocks.unbounded_ids)
    return OrderRow(clocks.site, clocks.cards, apart, loosest, off, clocks.unbounded_ids, more)


def _rows(run: Run, settings: Settings, context: Context) -> Iterator[TimeRow]:
    if settings.get("equipment", {}).get("kind") not in _WITHOUT_BATTERY:
        yield TimeRow("Shutdown", _shutdown(settings, context))
        yield TimeRow("Latest start", _latest_start(settings))
        yield _first_loss(power_losses(settings))
    yield TimeRow("Log", _log(settings, context, run.program.sweep_days))
    yield TimeRow("Clock", _clock(clock_uncertainty_s(settings)))


def _shutdown(settings: Settings, context: Context) -> str:
    needed = shutdown_needed_s.compute(settings, context)
    available = shutdown_available_s.compute(settings, context)
    if not isinstance(needed, int):
        return NOT_KNOWN
    takes = f"takes {_seconds(needed)}" if needed else "takes no time: no step and no machine needs any"
    if not isinstance(available, float):
        return f"{takes}; what is left of the battery at its start is {NOT_KNOWN}"
    spare = available - needed
    margin = f"{_seconds(spare)} to spare" if spare >= 0 else f"{_seconds(-spare)} too little"
    return f"{takes}; the battery gives {_seconds(available)} from its start: {margin}"


def _latest_start(settings: Settings) -> str:
    delay = largest_safe_delay_s(settings)
    if delay is None:
        return NOT_KNOWN
    if delay < 0:
        return f"none is early enough: at once, it ends {_seconds(-delay)} after the battery"
    if delay == settings["equipment"]["runtime_min"] * _MINUTE:
        return "no timer is too long: the remaining runtime starts it in time"
    return f"{_seconds(delay)} after mains fails, with no margin taken off"


def _first_loss(losses: tuple[PowerLoss, ...] | None) -> TimeRow:
    what = "First to lose power"
    if not losses:
        return TimeRow(what, NOT_KNOWN if losses is None else "no machine, before it is down")
    first, more = losses[0], len(losses) - 1
    others = f"; {counted(more, 'more machine')} after it" if more else ""
    says = f"{_seconds(first.after_s)} after the start: it needs {first.needed_s} s{others}"
    return TimeRow(what, says, first.agent)


def _log(settings: Settings, context: Context, interval: float | None) -> str:
    reach = log_days.compute(settings, context)
    if not isinstance(reach, float):
        return NOT_KNOWN
    keeps = f"keeps {reach:.1f} days on average"
    if interval is None:
        return keeps
    chance, lost = chance_of_wrap(settings, interval), days_lost(settings, interval)
    wraps = f"chance that it is overwritten within the {interval:g} days to the next sweep: {_chance(chance)}"
    if not lost:
        return f"{keeps}; {wraps}"
    days = counted(floor(lost), "day") if lost >= 1 else "hours"
    return f"{keeps}; {wraps}. An outage in the first {days} after a sweep leaves no trace in it"


def _chance(chance: float | None) -> str:
    if chance is None:
        return NOT_KNOWN
    if chance < _LEAST_CHANCE:
        return "below 0.1 %"
    return "above 99.9 %" if chance > 1 - _LEAST_CHANCE else f"{percent_text(100 * chance)} %"


def _clock(uncertainty: float | None) -> str:
    if uncertainty is None:
        return "nothing that is known bounds how far the time of an event is off"
    return f"the time of an event may be off by {_rounded_up(uncertainty)}"


def _rounded_up(seconds: float) -> str:
    """Return seconds to a tenth, never less than they are, so that no order is told too soon."""
    return f"{ceil(round(seconds * 10, 6)) / 10:.1f} s"


def _seconds(seconds: float) -> str:
    minutes = f" ({seconds / _MINUTE:.4g} min)" if seconds >= _MINUTES_FROM else ""
    return f"{seconds:.10g} s{minutes}"
