"""The command ``witnessmark``: its commands, and how a run ends."""

from typing import Annotated

import typer

from auditor.cli import (
    audit,
    capture,
    drift,
    gate,
    handover,
    history,
    import_,
    map_,
    mark,
    procedure,
    rules,
    seal,
    sweep,
    worksheet,
)
from auditor.version import VERSION

app = typer.Typer(
    name="witnessmark",
    help="Audit the settings of network management cards in power equipment, offline.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.command("audit")(audit.audit)
app.command("sweep")(sweep.sweep)
app.command("gate")(gate.gate)
app.command("mark")(mark.mark)
app.command("drift")(drift.drift)
app.command("import")(import_.import_settings)
app.command("capture")(capture.capture)
app.command("worksheet")(worksheet.worksheet)
app.command("procedure")(procedure.procedure)
app.command("handover")(handover.handover)
app.command("seal")(seal.seal)
app.add_typer(history.app, name="history")
app.add_typer(map_.app, name="map")
app.add_typer(rules.app, name="rules")


def _print_version(asked: bool) -> None:  # noqa: FBT001 - typer's shape of a callback
    if asked:
        typer.echo(f"witnessmark {VERSION}")
        raise typer.Exit


@app.callback()
def _main(
    version: Annotated[
        bool,
        typer.Option("--version", help="Print the version and stop.", callback=_print_version, is_eager=True),
    ] = False,
) -> None:
    pass


def run() -> None:
    """Run the command line and exit."""
    app()
