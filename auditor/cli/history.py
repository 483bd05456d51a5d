"""``witnessmark history``: what the sweeps of a store say over time; and stores merged into one."""

from collections.abc import Sequence
from datetime import UTC, datetime
from enum import StrEnum
from functools import partial
from typing import TYPE_CHECKING, Annotated, BinaryIO

import typer

from auditor.cli.as_of import moment_given
from auditor.cli.ends import STDOUT, form_of
from auditor.cli.standard_output import show, standard_output
from auditor.cli.terminal import ExitCode, guarded, look_of_stdout

if TYPE_CHECKING:
    from auditor.history.history import History

app = typer.Typer(rich_markup_mode=None)


class Form(StrEnum):
    """The formats of a history."""

    TABLE = "table"
    HTML = "html"
    JSON = "json"
    CSV = "csv"
    SWEEPS_CSV = "sweeps-csv"
    CARDS_CSV = "cards-csv"


_ENDINGS = {
    ".html": Form.HTML, ".htm": Form.HTML, ".json": Form.JSON, ".csv": Form.CSV, ".txt": Form.TABLE,
}  # fmt: skip


@app.callback(invoke_without_command=True)
def history(
    context: typer.Context,
    store: Annotated[str | None, typer.Option("--store", metavar="FILE", help="The history to read.")] = None,
    form: Annotated[
        Form | None, typer.Option("--format", help="Default: by the ending of --output, else table.")
    ] = None,
    output: Annotated[str, typer.Option("--output", help="File to write; - is standard output.")] = STDOUT,
    as_of: Annotated[
        datetime | None,
        typer.Option(
            parser=moment_given,
            metavar="DATE|DATE-TIME",
            help="Tell the history as of then, not now: 2026-11-25 (00:00 UTC) or 2026-11-25T12:00:00Z.",
        ),
    ] = None,
) -> None:
    """Tell what the sweeps of a store say over time: trend, findings, cards, time to mend.

    Exit code 0: told. 2: the store can't be used. 3: a fault of ours. 130: interrupted.
    """
    if context.invoked_subcommand is not None:
        return
    if store is None:
        raise typer.BadParameter("name the history", param_hint="--store")
    chosen = form or form_of(output, _ENDINGS, Form.TABLE)
    moment = as_of or datetime.now(UTC)
    raise typer.Exit(guarded(partial(_history, store, chosen, output, moment)))


@app.command("merge")
def merge(
    stores: Annotated[list[str], typer.Argument(metavar="STORE...", help="Histories to take from.")],
    to: Annotated[
        str, typer.Option("--to", metavar="FILE", help="History to add to; made if there is none.")
    ],
) -> None:
    """Bring histories together: every sweep once, whichever copy it comes from, or none at all.

    Exit code 0: merged. 2: a history can't be used, or two copies of a sweep differ. 3: a fault of ours.
    """
    raise typer.Exit(guarded(partial(_merge, stores, to)))


def _history(store: str, form: Form, output: str, moment: datetime) -> ExitCode:
    from auditor.errors import Fault, InputError
    from auditor.fleet.inputs import refuse_overwriting
    from auditor.history.history import history_of
    from auditor.history.store import open_to_read
    from auditor.report.output import open_output

    refuse_overwriting([output], [store])
    with open_to_read(store) as connection:
        told = history_of(connection, moment)
    if told is None:
        problem = f"holds no sweep as of {moment:%Y-%m-%d %H:%M} UTC"
        raise InputError([Fault(store, "", 0, 0, problem, "Sweep first, or name a later --as-of.")])
    if form is Form.TABLE and output == STDOUT:
        show(_table(told, store).rstrip("\n"))
        return ExitCode.RELEASED
    with standard_output() if output == STDOUT else open_output(output) as stream:
        _write(told, store, form, stream)
    return ExitCode.RELEASED


def _table(told: "History", store: str) -> str:
    from auditor.report.history_table import HistoryTable

    return HistoryTable(told, store, look_of_stdout()).text()


def _write(told: "History", store: str, form: Form, stream: BinaryIO) -> None:
    if form is Form.TABLE:
        from auditor.report.history_table import HistoryTable
        from auditor.report.writer import Look

        stream.write(HistoryTable(told, store, Look()).text().encode())
    elif form is Form.JSON:
        from auditor.report.history_json import write_history

        write_history(told, stream)
    elif form is Form.HTML:
        from auditor.report.html.history_page import write_history_page

        write_history_page(told, stream)
    else:
        from auditor.report import history_csv

        writers = {
            Form.CSV: history_csv.write_findings,
            Form.SWEEPS_CSV: history_csv.write_sweeps,
            Form.CARDS_CSV: history_csv.write_cards,
        }
        writers[form](told, stream)


def _merge(stores: Sequence[str], to: str) -> ExitCode:
    from auditor.history.merging import merge as merge_stores
    from auditor.history.merging import refuse_what_is_no_store
    from auditor.history.store import open_to_write
    from auditor.report.plain import plain
    from auditor.report.verdict import counted

    refuse_what_is_no_store(stores)
    with open_to_write(to) as target:
        merged = merge_stores(stores, target)
    for one in merged:
        known = f", {one.known} known already" if one.known else ""
        show(plain(f"{one.store}: {counted(one.taken, 'sweep')} taken{known}"))
    return ExitCode.RELEASED
