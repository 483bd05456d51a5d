"""The reports of a run on their way: their streams and writers, and what the run comes to."""

from collections.abc import Callable, Sequence
from contextlib import ExitStack
from enum import StrEnum
from typing import TYPE_CHECKING, BinaryIO

from auditor.cli.ends import STDOUT
from auditor.cli.standard_output import standard_output
from auditor.cli.terminal import ExitCode, look_of_stdout, say
from auditor.report.formats import CARDS_IN_FULL, FORMATS, WITH_CLOCKS, WITH_REACH
from auditor.report.output import open_output
from auditor.report.plain import plain
from auditor.report.writer import Look, Run, Writer

if TYPE_CHECKING:
    from auditor.fleet.clock_sums import ClockSums
    from auditor.fleet.estate import EstateSummary, EstateSums
    from auditor.fleet.reach_sums import ReachSums
    from auditor.scoring.band import Band


class HoldAt(StrEnum):
    """The bands at which a run can be held."""

    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"
    CRITICAL = "critical"


def open_reports(stack: ExitStack, run: Run, ends: Sequence[tuple[str, str]]) -> list[Writer]:
    """Open the outputs of a run until the stack closes, and return their writers."""
    # Standard output first: it ends last, so its fault costs no other report.
    streams = {end: opened(stack, end[1]) for end in sorted(ends, key=_is_file)}
    return [_writer(run, end, streams[end]) for end in ends]


def estate_sums(run: Run, hold_at: "Band") -> "EstateSums":
    """Return the sums over an estate that the reports of a run show, and no others."""
    from auditor.fleet.estate import DETAILED_CARDS, EstateSums

    # With deviations, the worst card that nobody answers for may stand far down.
    least = DETAILED_CARDS if run.deviations else _FEW
    detailed = max([least, *(CARDS_IN_FULL.get(name, 0) for name in run.formats)])
    return EstateSums(
        run.program, hold_at, detailed=detailed, reach=_reach_sums(run), clocks=_clock_sums(run)
    )


_FEW = 20
"""So many of the worst cards do where no report shows more of them."""


def _reach_sums(run: Run) -> "ReachSums | None":
    if run.formats.isdisjoint(WITH_REACH) and not run.ways:
        return None
    from auditor.fleet.reach_sums import ReachSums  # many runs show no ways

    return ReachSums()


def _clock_sums(run: Run) -> "ClockSums | None":
    if run.formats.isdisjoint(WITH_CLOCKS):
        return None
    from auditor.fleet.clock_sums import ClockSums  # many runs show no clocks

    return ClockSums()


def _is_file(end: tuple[str, str]) -> bool:
    return end[1] != STDOUT


def opened(stack: ExitStack, output: str) -> BinaryIO:
    """Open one output until the stack closes."""
    return stack.enter_context(standard_output() if output == STDOUT else open_output(output))


def _writer(run: Run, end: tuple[str, str], stream: BinaryIO) -> Writer:
    name, output = end
    return FORMATS[name]()(run, stream, look_of_stdout() if output == STDOUT else Look())


def say_faults(summary: "EstateSummary", ends: Sequence[tuple[str, str]]) -> None:
    """Say why records could not be used, unless a table at the terminal tells it."""
    if ("table", STDOUT) in ends and look_of_stdout().tells_faults:
        return
    for fault in summary.faults:
        say(str(fault))


def say_end(ends: Sequence[tuple[str, str]], said: Callable[[], str]) -> None:
    """Say what a run came to, and where its reports are, if these are files and no table shows it at once."""
    files = [plain(output) for _, output in ends if output != STDOUT]
    if files and ("table", STDOUT) not in ends:
        say(f"{said()} {'Report' if len(files) == 1 else 'Reports'}: {', '.join(files)}")


def code_of(summary: "EstateSummary") -> ExitCode:
    """Return what a run says to the program that started it."""
    if summary.unusable or not summary.whole.cards:
        return ExitCode.UNUSABLE
    return ExitCode.HELD if summary.held else ExitCode.RELEASED
