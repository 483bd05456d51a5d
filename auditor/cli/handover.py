"""``witnessmark handover``: all papers of one visit in a folder, to print, to follow and to sign."""

from datetime import UTC, datetime
from functools import partial
from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.as_of import moment_given
from auditor.cli.options import Deviations, Findings, OwnAddress, RestartMinutes, Rulesets, Site, Window
from auditor.cli.paper import Paper
from auditor.cli.reports import HoldAt
from auditor.cli.terminal import ExitCode, guarded, say
from auditor.cli.visit_choices import VisitChoices
from auditor.dataclass import dataclass

if TYPE_CHECKING:
    from auditor.cli.visit import Visited
    from auditor.report.handover import Handover


@dataclass(frozen=True, slots=True)
class PackChoices:
    """What a pack was asked for, beside its visit."""

    output: str
    replace: bool
    marks: str
    key: str | None
    hold_at: HoldAt | None
    paper: str


def handover(
    paths: Annotated[
        list[str],
        typer.Argument(metavar="RECORD...", help="Records of the cards of one visit, in their order."),
    ],
    output: Annotated[
        str, typer.Option(metavar="FOLDER", help="Folder to write; it gets there whole, or not at all.")
    ],
    replace: Annotated[bool, typer.Option("--replace", help="Replace a pack that is there.")] = False,
    findings: Findings = None,
    window: Window = None,
    restart_minutes: RestartMinutes = 3,
    own_address: OwnAddress = "",
    ruleset: Rulesets = None,
    site: Site = None,
    deviations: Deviations = None,
    marks: Annotated[str, typer.Option(metavar="FOLDER", help="Folder of the marks.")] = "marks",
    key: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="The site's key, by which marks are proved and secrets compared."),
    ] = None,
    hold_at: Annotated[
        HoldAt | None,
        typer.Option(help="The report holds when a finding is this severe, or more.", show_default="medium"),
    ] = None,
    paper: Annotated[
        Paper | None,
        typer.Option(help="Size that the pages are laid out for.", show_default="the printer's"),
    ] = None,
    as_of: Annotated[
        datetime | None,
        typer.Option(
            parser=moment_given, metavar="DATE|DATE-TIME", help="Judge and plan as of then, not now."
        ),
    ] = None,
) -> None:
    """Write the papers of a visit: report, procedure, worksheets, deviations, marks, and an index to sign.

    Each page of paper names its cards, the date and the rules, and has its number and room for
    initials. Exit code 0: all steps are planned. 1: some are left out; the procedure says which
    and why. 2: something could not be used, and nothing was written.
    """
    choices = VisitChoices(
        tuple(paths), tuple(ruleset or ()), site, deviations, findings, own_address, window, restart_minutes,
        as_of or datetime.now(UTC),
    )  # fmt: skip
    pack = PackChoices(output, replace, marks, key, hold_at, paper or "")
    raise typer.Exit(guarded(partial(_handover, choices, pack)))


def _handover(choices: VisitChoices, pack: PackChoices) -> ExitCode:
    from auditor.cli.visit import visited
    from auditor.report.handover import is_ours
    from auditor.report.handover_pages import pages_by_file
    from auditor.report.output_folder import check_folder, write_folder

    check_folder(pack.output, is_ours, replace=pack.replace)
    found = visited(choices)
    for fault in found.faults:
        say(str(fault))
    if found.faults or not found.plans:
        say("No pack was written: it would not be whole.")
        return ExitCode.UNUSABLE
    made = _made(found, choices, pack)
    pages = pages_by_file(made, pack.paper)
    write_folder(pack.output, pages, is_ours, replace=pack.replace)
    say(_summary(pack.output, made, len(pages)))
    return ExitCode.HELD if found.sheet.left_out else ExitCode.RELEASED


def _summary(output: str, made: "Handover", pages: int) -> str:
    from auditor.report.handover import INDEX, procedure_sentence
    from auditor.report.plain import plain
    from auditor.report.verdict import counted

    cards = counted(len(made.cards), "card")
    return f"{plain(output)}: {pages} pages for {cards}; begin with {INDEX}. {procedure_sentence(made.sheet)}"


def _made(found: "Visited", choices: VisitChoices, pack: PackChoices) -> "Handover":
    """Return all that the pages are made from: the visit, its audit, what is unknown, accepted and marked."""
    from auditor.cli.visit_audit import audited, drifted
    from auditor.fleet.choices import load_crosswalks
    from auditor.report.handover import Handover
    from auditor.report.handover_deviations import card_deviations
    from auditor.report.worksheet import worksheet_of
    from auditor.report.writer import Run
    from auditor.scoring.band import Band
    from auditor.version import VERSION

    program, given = found.program, found.deviations
    formats = frozenset({"html"})
    run = Run(VERSION, choices.as_of, program, load_crosswalks(), formats=formats, deviations=given)
    band = Band(pack.hold_at) if pack.hold_at else None
    assessments, summary = audited(found, run, band)
    records = tuple(plan.record for plan in found.plans)
    return Handover(
        run,
        found.sheet,
        summary,
        records,
        assessments,
        tuple(worksheet_of(record.settings) for record in records),
        tuple(card_deviations(card, given, program, choices.as_of) for card in assessments),
        drifted(found, pack.marks, pack.key),
        pack.marks,
    )
