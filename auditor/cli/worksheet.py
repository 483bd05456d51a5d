"""``witnessmark worksheet``: the form of everything that must be read off a card by hand."""

import sys
from enum import StrEnum
from functools import partial
from typing import TYPE_CHECKING, Annotated, BinaryIO

import typer

from auditor.cli.ends import STDOUT, form_of
from auditor.cli.standard_output import standard_output
from auditor.cli.terminal import ExitCode, guarded

if TYPE_CHECKING:
    from collections.abc import Callable

    from auditor.record.settings import Settings
    from auditor.report.worksheet import Worksheet


class Form(StrEnum):
    """The formats of a worksheet."""

    HTML = "html"
    MARKDOWN = "markdown"
    CSV = "csv"


_ENDINGS = {
    ".html": Form.HTML, ".htm": Form.HTML, ".md": Form.MARKDOWN, ".txt": Form.MARKDOWN, ".csv": Form.CSV,
}  # fmt: skip


def worksheet(
    record: Annotated[
        str | None,
        typer.Argument(help="A record: what it knows is left out. Without one, everything is asked."),
    ] = None,
    form: Annotated[
        Form | None, typer.Option("--format", help="Default: by the ending of --output, else markdown.")
    ] = None,
    output: Annotated[str, typer.Option("--output", help="File to write; - is standard output.")] = STDOUT,
) -> None:
    """Print the form of everything to read off a card by hand, in the order of a visit.

    The form asks for no secret. Fill in the CSV form to import it.
    """
    chosen = form or form_of(output, _ENDINGS, Form.MARKDOWN)
    raise typer.Exit(guarded(partial(_worksheet, record, chosen, output)))


def _worksheet(record: str | None, form: Form, output: str) -> ExitCode:
    from auditor.fleet.inputs import refuse_overwriting
    from auditor.report.output import open_output
    from auditor.report.worksheet import worksheet_of

    refuse_overwriting([output], [record] if record else [])
    sheet = worksheet_of(_settings(record) if record else None)
    write = _writer(form)
    with standard_output() if output == STDOUT else open_output(output) as stream:
        write(sheet, stream)
    return ExitCode.RELEASED


def _settings(path: str) -> "Settings":
    from auditor.errors import Fault, RecordError
    from auditor.intake.records import read_records

    records = list(read_records([path], sys.stdin.buffer))
    if len(records) != 1:
        raise RecordError(
            [Fault(path, "", 0, 0, f"holds {len(records)} records", "Give the record of one card.")]
        )
    if isinstance(records[0], RecordError):
        raise records[0]
    return records[0].settings


def _writer(form: Form) -> "Callable[[Worksheet, BinaryIO], None]":
    if form is Form.HTML:
        from auditor.report.worksheet_html import write_html

        return write_html
    if form is Form.CSV:
        from auditor.report.worksheet_csv import write_csv

        return write_csv
    from auditor.report.worksheet_markdown import write_markdown

    return write_markdown
