"""``witnessmark audit``: audit records and report what departs from the rules."""

import sys
from collections.abc import Sequence
from contextlib import ExitStack
from datetime import UTC, datetime
from functools import partial
from typing import Annotated

import typer

from auditor.cli.as_of import moment_given
from auditor.cli.cache import key_store
from auditor.cli.ends import pair_ends
from auditor.cli.garbage import collected_seldom
from auditor.cli.options import Deviations, Rulesets, Site
from auditor.cli.progress import counted
from auditor.cli.reports import HoldAt, code_of, estate_sums, open_reports, say_end, say_faults
from auditor.cli.terminal import ExitCode, guarded
from auditor.intake.recognise import SourceFormat
from auditor.report.formats import FORMATS, WITH_PLACES, WITHOUT_CONTROLS
from auditor.report.writer import Run
from auditor.scoring.band import Band
from auditor.scoring.xccdf import Model


def audit(
    paths: Annotated[
        list[str],
        typer.Argument(
            help="Records (files, folders, .ndjson, .gz, - for standard input), or other sources."
        ),
    ],
    ruleset: Rulesets = None,
    site: Site = None,
    deviations: Deviations = None,
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
        HoldAt | None,
        typer.Option(help="Hold when a finding is this severe, or more.", show_default="medium"),
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
    ways: Annotated[
        bool, typer.Option("--ways", help="List every card's ways in too, in json and ndjson.")
    ] = False,
    quiet: Annotated[
        bool, typer.Option("--quiet", help="Say nothing but the result, and what could not be used.")
    ] = False,
) -> None:
    """Audit records of cards and report what departs from the rules.

    Exit code 0: released, nothing at or above --hold-at. 1: held. 2: something could not be
    used; the rest was audited. 3: a fault of ours. 130: interrupted.
    """
    ends = pair_ends(formats or [], outputs or [])
    moment = as_of or datetime.now(UTC)
    work = partial(_audit, paths, ends, moment, quiet=quiet, form=form, map_file=map_file)
    raise typer.Exit(
        guarded(
            partial(
                work,
                rulesets=ruleset or [],
                site=site,
                deviations=deviations,
                hold_at=hold_at,
                cards=only_cards or [],
                model=model,
                ways=ways,
            )
        )
    )


def _audit(
    paths: Sequence[str], ends: Sequence[tuple[str, str]], moment: datetime, *,
    rulesets: Sequence[str], site: str | None, deviations: str | None, hold_at: HoldAt | None,
    cards: Sequence[str], model: Model, ways: bool, quiet: bool,
    form: SourceFormat | None, map_file: str | None,
) -> ExitCode:  # fmt: skip
    from auditor.change.site_deviations import load_deviations
    from auditor.fleet.any_source import read_any
    from auditor.fleet.audit import CardChoice, acceptance_of, audit_records, hold_band, sum_up
    from auditor.fleet.choices import load_crosswalks, load_map_file, load_program
    from auditor.fleet.context import context_of_run
    from auditor.fleet.importing import ImportChoices
    from auditor.fleet.inputs import refuse_overwriting
    from auditor.fleet.passphrases import passphrases_in
    from auditor.fleet.reuse import Reuse
    from auditor.version import VERSION

    program = load_program(rulesets, site)
    accepted = load_deviations(deviations, program)
    words = program.tailoring.word_list.file
    others = (*rulesets, site or "", words, map_file or "", accepted.file if accepted else "")
    refuse_overwriting([output for _, output in ends], [*paths, *filter(None, others)])
    formats = frozenset(name for name, _ in ends)
    crosswalks = () if formats <= WITHOUT_CONTROLS else load_crosswalks()
    run = Run(VERSION, moment, program, crosswalks, model, formats, accepted, ways)
    held_at = hold_band(Band(hold_at) if hold_at else None, program)
    sums = estate_sums(run, held_at)
    choices = ImportChoices(form, load_map_file(map_file) if map_file else None)
    chosen = CardChoice(cards)
    context = context_of_run(moment, program.tailoring.word_list, key_store(quiet=quiet))
    reuse = Reuse(passphrases_in(context))
    acceptance = acceptance_of(accepted, moment, whole_estate=not cards) if accepted else None
    records = reuse.watch(chosen.among(read_any(paths, sys.stdin.buffer, choices)))
    located = not formats.isdisjoint(WITH_PLACES)
    assessments = audit_records(records, program, context, located=located)
    with collected_seldom(), ExitStack() as stack:
        writers = open_reports(stack, run, ends)
        takers = [writer.add for writer in writers]
        summary = sum_up(counted(assessments, quiet=quiet), sums, takers, reuse=reuse, acceptance=acceptance)
        chosen.refuse_none(summary)
        say_faults(summary, ends)
        for writer in writers:
            writer.finish(summary)
    if not quiet:
        from auditor.report.audit_text import audit_text  # most runs show it themselves

        say_end(ends, partial(audit_text, summary))
    return code_of(summary)
