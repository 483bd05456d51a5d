"""``witnessmark sweep``: audit an estate and append the result to its history."""

import sys
from collections.abc import Sequence
from contextlib import ExitStack
from datetime import UTC, datetime
from functools import partial
from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.as_of import moment_given
from auditor.cli.cache import key_store
from auditor.cli.ends import STDOUT, pair_ends
from auditor.cli.garbage import collected_seldom
from auditor.cli.options import Rulesets, Site
from auditor.cli.progress import counted
from auditor.cli.reports import HoldAt, code_of, estate_sums, open_reports, say_faults
from auditor.cli.standard_output import show
from auditor.cli.terminal import ExitCode, guarded, look_of_stdout, say
from auditor.dataclass import dataclass
from auditor.intake.recognise import SourceFormat
from auditor.report.formats import FORMATS, WITH_PLACES, WITHOUT_CONTROLS
from auditor.report.writer import Run
from auditor.scoring.band import Band

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from sqlite3 import Connection

    from auditor.errors import RecordError
    from auditor.facts.fact import Context
    from auditor.fleet.estate import EstateSummary
    from auditor.history.sweeping import Sweeping
    from auditor.record.reading import Record
    from auditor.scoring.assessment import CardAssessment


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a user asked of a sweep."""

    paths: Sequence[str]
    ends: Sequence[tuple[str, str]]
    store: str
    cache: str | None
    part: str
    moment: datetime
    rulesets: Sequence[str]
    site: str | None
    deviations: str | None
    hold_at: HoldAt | None
    form: SourceFormat | None
    map_file: str | None
    quiet: bool


def sweep(
    paths: Annotated[
        list[str],
        typer.Argument(
            help="Records (files, folders, .ndjson, .gz, - for standard input), or other sources."
        ),
    ],
    store: Annotated[
        str, typer.Option("--store", metavar="FILE", help="The history; made if there is none.")
    ],
    part: Annotated[
        str,
        typer.Option(
            help="Name of the part of the estate that is swept, where each is swept by itself: a card is "
            "missed only by a sweep of its own part."
        ),
    ] = "",
    ruleset: Rulesets = None,
    site: Site = None,
    deviations: Annotated[
        str | None, typer.Option(help="What somebody answers for (deviations.toml); default: the site's.")
    ] = None,
    formats: Annotated[
        list[str] | None,
        typer.Option("--format", help=f"Report beside the sweep: one of {', '.join(FORMATS)}. Repeatable."),
    ] = None,
    outputs: Annotated[
        list[str] | None,
        typer.Option(
            "--output", help="File for the format in the same place; - is standard output. Repeatable."
        ),
    ] = None,
    hold_at: Annotated[
        HoldAt | None,
        typer.Option(help="Hold when a finding is this severe, or more.", show_default="medium"),
    ] = None,
    form: Annotated[
        SourceFormat | None, typer.Option("--as", help="What the paths lead to, where they don't show it.")
    ] = None,
    map_file: Annotated[
        str | None, typer.Option("--map", help="Map (TOML) of the site's own export, which the paths are.")
    ] = None,
    as_of: Annotated[
        datetime | None,
        typer.Option(
            parser=moment_given,
            metavar="DATE|DATE-TIME",
            help="Sweep as of then, not now: 2026-11-25 (00:00 UTC) or 2026-11-25T12:00:00+01:00 (or Z).",
        ),
    ] = None,
    cache: Annotated[
        bool,
        typer.Option(help="Take unchanged records from FILE-cache, and keep what is new there."),
    ] = True,
    quiet: Annotated[
        bool, typer.Option("--quiet", help="Say nothing but what could not be used, and reports asked for.")
    ] = False,
) -> None:
    """Audit an estate and append the result to its history, whole or not at all.

    Exit code 0: released, nothing at or above --hold-at. 1: held. 2: something could not be
    used; the rest was swept, unless nothing was. 3: a fault of ours. 130: interrupted.
    """
    ends = pair_ends(formats or [], outputs or []) if formats or outputs else []
    asked = _Asked(
        paths, ends, store, f"{store}-cache" if cache else None, part, as_of or datetime.now(UTC),
        ruleset or [], site, deviations, hold_at, form, map_file, quiet,
    )  # fmt: skip
    raise typer.Exit(guarded(partial(_sweep, asked)))


def _sweep(asked: _Asked) -> ExitCode:
    from auditor.fleet.any_source import read_any
    from auditor.fleet.choices import load_map_file
    from auditor.fleet.context import context_of_run
    from auditor.fleet.importing import ImportChoices
    from auditor.intake.records import until_usable
    from auditor.report.verdict import verdict

    run = _run(asked)
    context = context_of_run(asked.moment, run.program.tailoring.word_list, key_store(quiet=asked.quiet))
    choices = ImportChoices(asked.form, load_map_file(asked.map_file) if asked.map_file else None)
    known = _KnownLater()
    is_any, records = until_usable(read_any(asked.paths, sys.stdin.buffer, choices, is_known=known))
    with ExitStack() as kept, ExitStack() as stack, collected_seldom():
        # Opened only now: a sweep of nothing leaves no store behind, nor any other file.
        store = _store(kept, asked, run, context) if is_any else None
        known.sweeping = store.sweeping if store else None
        writers = open_reports(stack, run, asked.ends)
        summary = _swept(asked, run, context, records, known.sweeping, [writer.add for writer in writers])
        say_faults(summary, asked.ends)
        for writer in writers:
            writer.finish(summary)
        # Appended before the reports get their names: there is none of a sweep that failed.
        nothing = f"{verdict(summary)}\n{asked.store}: nothing was appended."
        _tell(asked, _appended(store, asked, run, summary) if store else nothing)
    return code_of(summary)


@dataclass(slots=True)
class _KnownLater:
    """Tells which texts are known once a sweep is there to ask; before that, none is."""

    sweeping: "Sweeping | None" = None

    def __call__(self, text: bytes, in_work_tree: bool | None) -> bool:  # noqa: FBT001 - the shape of Knowing
        return self.sweeping is not None and self.sweeping.knows(text, in_work_tree)


@dataclass(frozen=True, slots=True)
class _Store:
    """An open store, and the sweep that is on its way into it."""

    connection: "Connection"
    sweeping: "Sweeping"


def _store(stack: ExitStack, asked: _Asked, run: Run, context: "Context") -> _Store:
    """Open the store and its cache until the stack closes."""
    from auditor.history.judge_digest import judge_digest
    from auditor.history.record_cache import open_cache
    from auditor.history.store import open_to_write
    from auditor.history.sweeping import Sweeping

    connection = stack.enter_context(open_to_write(asked.store))
    cache = stack.enter_context(open_cache(asked.cache, judge_digest(run.program, context)))
    return _Store(connection, Sweeping(connection, cache, run.program))


def _appended(store: _Store, asked: _Asked, run: Run, summary: "EstateSummary") -> str:
    """Append the sweep, and return what it came to."""
    from auditor.history.changes import changes_of
    from auditor.history.sweeping import SweepHead
    from auditor.report.sweep_text import sweep_text

    head = SweepHead(asked.part, asked.moment, run.version, run.deviations)
    changes = changes_of(store.connection, store.sweeping.append(head, summary), _findings(summary))
    return sweep_text(asked.store, summary, changes, look_of_stdout())


def _findings(summary: "EstateSummary") -> int:
    return sum(summary.whole.findings_by_band.values())


def _run(asked: _Asked) -> Run:
    """Return what the sweep says of itself, once it is sure that no output takes the place of an input."""
    from auditor.change.site_deviations import load_deviations
    from auditor.fleet.choices import load_crosswalks, load_program
    from auditor.fleet.inputs import refuse_overwriting
    from auditor.version import VERSION

    program = load_program(asked.rulesets, asked.site)
    accepted = load_deviations(asked.deviations, program)
    others = (*asked.rulesets, asked.site, asked.map_file, accepted.file if accepted else None)
    outputs = [output for _, output in asked.ends]
    refuse_overwriting([*outputs, asked.store], [*asked.paths, *filter(None, others)])
    refuse_overwriting(outputs, [asked.store])
    formats = frozenset(name for name, _ in asked.ends)
    crosswalks = () if formats <= WITHOUT_CONTROLS else load_crosswalks()
    return Run(VERSION, asked.moment, program, crosswalks, formats=formats, deviations=accepted)


def _swept(
    asked: _Asked, run: Run, context: "Context", records: "Iterator[Record | RecordError]",
    sweeping: "Sweeping | None", writers: "Sequence[Callable[[CardAssessment], None]]",
) -> "EstateSummary":  # fmt: skip
    from auditor.fleet.audit import acceptance_of, audit_records, hold_band, sum_up
    from auditor.fleet.passphrases import passphrases_in
    from auditor.fleet.reuse import Reuse

    reuse = Reuse(passphrases_in(context))
    acceptance = acceptance_of(run.deviations, asked.moment) if run.deviations else None
    held_at = hold_band(Band(asked.hold_at) if asked.hold_at else None, run.program)
    sums = estate_sums(run, held_at)
    takers = [sweeping.take, *writers] if sweeping else writers
    located = not run.formats.isdisjoint(WITH_PLACES)
    assessments = audit_records(reuse.watch(records), run.program, context, located=located, memory=sweeping)
    return sum_up(counted(assessments, quiet=asked.quiet), sums, takers, reuse=reuse, acceptance=acceptance)


def _tell(asked: _Asked, text: str) -> None:
    """Say what the sweep came to: as the result, unless a report takes its place on standard output."""
    if asked.quiet:
        return
    if any(output == STDOUT for _, output in asked.ends):
        say(text)
    else:
        show(text)
