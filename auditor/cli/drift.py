"""``witnessmark drift``: what moved on cards since they were marked, and which moves matter."""

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
from auditor.cli.options import Deviations, Rulesets, Site
from auditor.cli.reports import opened, say_end
from auditor.cli.terminal import ExitCode, guarded, look_of_stdout, say
from auditor.dataclass import replace
from auditor.report.writer import Look, Run
from auditor.scoring.band import Band

if TYPE_CHECKING:
    from auditor.change.drift import CardDrift
    from auditor.change.gate import Terms
    from auditor.report.drift_view import Drift

_FORMATS = ("table", "json", "markdown", "html", "sarif", "junit")


def drift(
    paths: Annotated[
        list[str],
        typer.Argument(
            help="Records (files, folders, .ndjson, .gz, - for standard input), or other sources."
        ),
    ],
    marks: Annotated[str, typer.Option(metavar="FOLDER", help="Folder of the marks.")] = "marks",
    key: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="The site's key, by which marks are proved and secrets compared."),
    ] = None,
    ruleset: Rulesets = None,
    site: Site = None,
    deviations: Deviations = None,
    formats: Annotated[
        list[str] | None, typer.Option("--format", help=f"One of {', '.join(_FORMATS)}. Repeatable.")
    ] = None,
    outputs: Annotated[
        list[str] | None,
        typer.Option(
            "--output", help="File for the format in the same place; - is standard output. Repeatable."
        ),
    ] = None,
    as_of: Annotated[
        datetime | None,
        typer.Option(parser=moment_given, metavar="DATE|DATE-TIME", help="Judge as of then, not now."),
    ] = None,
) -> None:
    """Say what moved since the marks were made, which moves change an outcome, and which cards have no mark.

    Exit code 0: nothing that matters moved. 1: a move changes an outcome, a card has no mark, or a
    mark is not whole. 2: a record or a mark can't be used; the rest was compared.
    """
    ends = pair_ends(formats or [], outputs or [], _FORMATS)
    work = partial(_drift, paths, marks, ends, as_of or datetime.now(UTC))
    choices = partial(work, key=key, rulesets=ruleset or [], site=site, deviations=deviations)
    raise typer.Exit(guarded(choices))


def _drift(
    paths: Sequence[str], marks: str, ends: Sequence[tuple[str, str]], moment: datetime, *,
    key: str | None, rulesets: Sequence[str], site: str | None, deviations: str | None,
) -> ExitCode:  # fmt: skip
    from auditor.change.gate import Terms
    from auditor.change.site_deviations import load_deviations
    from auditor.fleet.choices import load_program
    from auditor.fleet.context import context_of_run
    from auditor.fleet.inputs import refuse_overwriting
    from auditor.intake.mark_files import refuse_no_folder
    from auditor.intake.site_key import read_key_file
    from auditor.report.drift_view import sentence_of, word_of
    from auditor.version import VERSION

    program = load_program(rulesets, site)
    accepted = load_deviations(deviations, program)
    words = program.tailoring.word_list.file
    others = (*rulesets, site or "", words, key or "", accepted.file if accepted else "")
    refuse_overwriting([output for _, output in ends], [*paths, marks, *filter(None, others)])
    secret = read_key_file(key) if key else None
    context = context_of_run(moment, program.tailoring.word_list, key_store())
    refuse_no_folder(marks)
    found = _compared(paths, marks, Terms(program, context, Band.MEDIUM, accepted), secret)
    _write(found, Run(VERSION, moment, program, (), deviations=accepted), ends)
    say_end(ends, lambda: f"{word_of(found).capitalize()}: {sentence_of(found)}")
    if found.faults or not found.cards:
        return ExitCode.UNUSABLE
    return ExitCode.HELD if found.is_weighty else ExitCode.RELEASED


def _compared(paths: Sequence[str], marks: str, terms: "Terms", secret: bytes | None) -> "Drift":
    from auditor.change.drift import drift_of
    from auditor.change.mark import read_mark
    from auditor.errors import RecordError
    from auditor.fleet.any_source import read_any
    from auditor.fleet.importing import ImportChoices
    from auditor.intake.mark_files import mark_path, mark_text, marked_cards
    from auditor.report.drift_view import Drift
    from auditor.rules.program import FEW_RECORDS

    cards: list[CardDrift] = []
    faults = []
    given = set[str]()
    for record in read_any(paths, sys.stdin.buffer, ImportChoices(None, None)):
        try:
            if isinstance(record, RecordError):
                raise record
            given.add(record.card_id)
            text = mark_text(marks, record.card_id)
            file = str(mark_path(marks, record.card_id))
            mark = read_mark(text, file, secret) if text is not None else None
            compiled = len(cards) >= FEW_RECORDS
            cards.append(drift_of(record, mark, replace(terms, compiled=compiled), secret))
        except RecordError as error:
            faults.append(error.faults)
            say(str(error))
    unheld = tuple(name for name in marked_cards(marks) if name not in given)
    return Drift(tuple(cards), unheld, tuple(faults))


def _write(drift: "Drift", run: Run, ends: Sequence[tuple[str, str]]) -> None:
    from auditor.report.drift_formats import DRIFT_FORMATS

    with ExitStack() as stack:
        streams = [opened(stack, output) for _, output in ends]
        for (name, output), stream in zip(ends, streams, strict=True):
            look = look_of_stdout() if output == STDOUT else Look()
            stream.write(DRIFT_FORMATS[name]()(drift, run, look))
