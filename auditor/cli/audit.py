"""``witnessmark audit``: audit records and report what departs from the rules."""

import sys
from collections.abc import Sequence
from contextlib import ExitStack
from datetime import UTC, datetime
from functools import partial
from typing import Annotated

import typer

from auditor.cli.as_of import moment_given
from auditor.cli.progress import counted
from auditor.cli.terminal import ExitCode, guarded, look_of_stdout, say
from auditor.intake.recognise import SourceFormat
from auditor.report.formats import FORMATS, WITHOUT_CONTROLS, format_of_file
from auditor.report.output import open_output
from auditor.report.writer import Look, Run, Writer
from auditor.scoring.band import Band
from auditor.scoring.xccdf import Model

STDOUT = "-"


def audit(
    paths: Annotated[
        list[str],
        typer.Argument(
            help="Records (files, folders, .ndjson, .gz, - for standard input), or other sources."
        ),
    ],
    ruleset: Annotated[
        list[str] | None, typer.Option(help="Ruleset: a shipped name, or a TOML file. Repeatable.")
    ] = None,
    site: Annotated[str | None, typer.Option(help="The site's own choices (witnessmark.toml).")] = None,
    formats: Annotated[
        list[str] | None, typer.Option("--format", help=f"One of {', '.join(FORMATS)}. Repeatable.")
    ] = None,
    outputs: Annotated[
        list[str] | None,
        typer.Option(
            "--output", help="File for the format in the same place; - is standard output. Repeatable."
        ),
    ] = None,
    hold_at: Annotated[
        Band | None, typer.Option(help="Hold when a finding is this severe, or more.", show_default="medium")
    ] = None,
    only_cards: Annotated[
        list[str] | None,
        typer.Option(help="Audit only cards whose id matches this pattern (* and ?). Repeatable."),
    ] = None,
    form: Annotated[
        SourceFormat | None, typer.Option("--as", help="What the paths lead to, where they don't show it.")
    ] = None,
    map_file: Annotated[
        str | None, typer.Option("--map", help="Map (TOML) of the site's own export, which the paths are.")
    ] = None,
    model: Annotated[Model, typer.Option(help="Scoring model shown beside the flat one.")] = Model.FLAT,
    as_of: Annotated[
        datetime | None,
        typer.Option(
            parser=moment_given,
            metavar="DATE|DATE-TIME",
            help="Audit as of then, not now: 2026-11-25 (00:00 UTC) or 2026-11-25T12:00:00+01:00 (or Z).",
        ),
    ] = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="Say nothing but the result.")] = False,
) -> None:
    """Audit records of cards and report what departs from the rules.

    Exit code 0: nothing at or above --hold-at. 1: held. 2: something could not be used.
    """
    ends = pair_ends(formats or [], outputs or [])
    moment = as_of or datetime.now(UTC)
    work = partial(_audit, paths, ends, moment, quiet=quiet, form=form, map_file=map_file)
    raise typer.Exit(
        guarded(
            partial(
                work, rulesets=ruleset or [], site=site, hold_at=hold_at, cards=only_cards or [], model=model
            )
        )
    )


def pair_ends(formats: Sequence[str], outputs: Sequence[str]) -> list[tuple[str, str]]:
    """Return pairs of format and output; a format without output goes to standard output.

    An output without format takes the format that its ending names.

    Raises:
        typer.BadParameter: for an unknown format, or two formats for standard output.
    """
    for name in formats:
        if name not in FORMATS:
            raise typer.BadParameter(f"no format {name}; known: {', '.join(FORMATS)}", param_hint="--format")
    pairs = list(zip(formats, outputs, strict=False))
    pairs += [(name, STDOUT) for name in formats[len(outputs) :]]
    for output in outputs[len(formats) :]:
        ending = format_of_file(output)
        if ending is None:
            raise typer.BadParameter(f"name a --format for {output}", param_hint="--output")
        pairs.append((ending, output))
    if sum(output == STDOUT for _, output in pairs) > 1:
        raise typer.BadParameter("only one format can go to standard output; name an --output for the others")
    if len({output for _, output in pairs}) < len(pairs):
        raise typer.BadParameter("two formats go to one file", param_hint="--output")
    return pairs or [("table", STDOUT)]


def _audit(
    paths: Sequence[str], ends: Sequence[tuple[str, str]], moment: datetime, *,
    rulesets: Sequence[str], site: str | None, hold_at: Band | None, cards: Sequence[str],
    model: Model, quiet: bool, form: SourceFormat | None, map_file: str | None,
) -> ExitCode:  # fmt: skip
    from auditor.facts.fact import Context
    from auditor.facts.words import well_known_words
    from auditor.fleet.any_source import read_any
    from auditor.fleet.audit import audit_records, hold_band, only_cards, sum_up
    from auditor.fleet.choices import load_crosswalks, load_map_file, load_program
    from auditor.fleet.estate import EstateSums
    from auditor.fleet.importing import ImportChoices
    from auditor.version import VERSION

    program = load_program(rulesets, site)
    crosswalks = () if {name for name, _ in ends} <= WITHOUT_CONTROLS else load_crosswalks()
    run = Run(VERSION, moment, program, crosswalks, model)
    sums = EstateSums(program, hold_band(hold_at, program))
    choices = ImportChoices(form, load_map_file(map_file) if map_file else None)
    records = only_cards(read_any(paths, sys.stdin.buffer, choices), cards)
    assessments = audit_records(records, program, Context(moment, well_known_words()))
    with ExitStack() as stack:
        writers = [_writer(stack, run, end) for end in ends]
        summary = sum_up(counted(assessments, quiet=quiet), sums, [writer.add for writer in writers])
        for writer in writers:
            writer.finish(summary)
    if not (quiet or (("table", STDOUT) in ends and sys.stdout.isatty())):  # the table tells them
        for fault in summary.faults:
            say(str(fault))
    if summary.unusable:
        return ExitCode.UNUSABLE
    return ExitCode.HELD if summary.held else ExitCode.RELEASED


def _writer(stack: ExitStack, run: Run, end: tuple[str, str]) -> Writer:
    name, output = end
    if output == STDOUT:
        return FORMATS[name]()(run, sys.stdout.buffer, look_of_stdout())
    return FORMATS[name]()(run, stack.enter_context(open_output(output)), Look())
