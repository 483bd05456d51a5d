"""``witnessmark procedure``: what to do on some cards at a visit, in which order."""

from contextlib import ExitStack
from datetime import UTC, datetime
from enum import StrEnum
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, BinaryIO

import typer

from auditor.cli.as_of import moment_given
from auditor.cli.ends import STDOUT, form_of
from auditor.cli.options import Findings, OwnAddress, RestartMinutes, Rulesets, Site, Window
from auditor.cli.paper import Paper
from auditor.cli.reports import opened
from auditor.cli.terminal import ExitCode, guarded, is_at_terminal, look_of_stdout, say
from auditor.cli.visit_choices import VisitChoices
from auditor.report.writer import Look

if TYPE_CHECKING:
    from collections.abc import Callable

    from auditor.cli.visit import Visited
    from auditor.report.visit_sheet import Sheet


class Form(StrEnum):
    """The formats of a procedure."""

    TABLE = "table"
    HTML = "html"
    MARKDOWN = "markdown"
    CSV = "csv"
    JSON = "json"


_ENDINGS = {
    ".html": Form.HTML, ".htm": Form.HTML, ".md": Form.MARKDOWN, ".txt": Form.TABLE,
    ".csv": Form.CSV, ".json": Form.JSON,
}  # fmt: skip
_AFTER_ENDINGS = (".json", ".ndjson")


def procedure(
    paths: Annotated[list[str], typer.Argument(help="Records of the cards of one visit, in their order.")],
    findings: Findings = None,
    window: Window = None,
    restart_minutes: RestartMinutes = 3,
    own_address: OwnAddress = "",
    form: Annotated[
        Form | None,
        typer.Option(
            "--format",
            help="Default: by the ending of --output, else table at a terminal, markdown elsewhere.",
        ),
    ] = None,
    output: Annotated[str, typer.Option("--output", help="File to write; - is standard output.")] = STDOUT,
    after: Annotated[
        str | None,
        typer.Option(help="File for the records as they would be, sealed: .json (one card) or .ndjson."),
    ] = None,
    ruleset: Rulesets = None,
    site: Site = None,
    deviations: Annotated[
        str | None, typer.Option(help="Accepted deviations (TOML): what they cover is not mended.")
    ] = None,
    paper: Annotated[
        Paper | None,
        typer.Option(help="Size that html is laid out for.", show_default="the printer's"),
    ] = None,
    as_of: Annotated[
        datetime | None,
        typer.Option(
            parser=moment_given,
            metavar="DATE|DATE-TIME",
            help="Plan as of then, not now.",
        ),
    ] = None,
) -> None:
    """Write a method of procedure that mends the findings of one card, or of several at one visit.

    Every step leaves an administrator a way in. Exit code 0: all steps are planned. 1: some are left
    out; the procedure says which and why. 2: something could not be used.
    """
    choices = VisitChoices(
        tuple(paths), tuple(ruleset or ()), site, deviations, findings, own_address, window, restart_minutes,
        as_of or datetime.now(UTC),
    )  # fmt: skip
    usual = Form.TABLE if is_at_terminal() else Form.MARKDOWN
    chosen = form or form_of(output, _ENDINGS, usual)
    if after == STDOUT or (after and Path(after).resolve() == Path(output).resolve()):
        raise typer.BadParameter("name a file of its own for these records", param_hint="--after")
    if after and not after.lower().endswith(_AFTER_ENDINGS):
        said = (
            f"the name {after} ends in none of {', '.join(_AFTER_ENDINGS)}; these records are JSON: rename it"
        )
        raise typer.BadParameter(said, param_hint="--after")
    raise typer.Exit(guarded(partial(_procedure, choices, chosen, output, after, paper or "")))


def _procedure(choices: VisitChoices, form: Form, output: str, after: str | None, paper: str) -> ExitCode:
    from auditor.cli.visit import visited
    from auditor.fleet.inputs import refuse_overwriting
    from auditor.report.handover import procedure_sentence
    from auditor.report.output import open_output
    from auditor.report.plain import plain

    refuse_overwriting([output, *([after] if after else [])], choices.inputs)
    found = visited(choices)
    for fault in found.faults:
        say(str(fault))
    if not found.plans:
        say("No procedure was written: there is no card to plan for.")
        return ExitCode.UNUSABLE
    write = _writer(form, paper, look_of_stdout() if output == STDOUT else Look())
    with ExitStack() as stack:
        # Opened first: where it can't be written, there is no procedure that promises it.
        images = stack.enter_context(open_output(after)) if after else None
        write(found.sheet, opened(stack, output))
        if after and images:
            images.write(found.after_images(one_line=not after.lower().endswith(".json")))
    if output != STDOUT:
        say(f"{plain(output)}: {procedure_sentence(found.sheet)}")
    return _code(found)


def _code(found: "Visited") -> ExitCode:
    if found.faults:
        say("The procedure is without the records that could not be used.")
        return ExitCode.UNUSABLE
    return ExitCode.HELD if found.sheet.left_out else ExitCode.RELEASED


def _writer(form: Form, paper: str, look: Look) -> "Callable[[Sheet, BinaryIO], None]":
    if form is Form.TABLE:
        from auditor.report.procedure_table import write_table

        return partial(write_table, look=look)
    if form is Form.HTML:
        from auditor.report.procedure_html import write_html

        return partial(write_html, paper=paper)
    if form is Form.CSV:
        from auditor.report.procedure_csv import write_csv

        return write_csv
    if form is Form.JSON:
        from auditor.report.procedure_json import write_json

        return write_json
    from auditor.report.procedure_markdown import write_markdown

    return write_markdown
