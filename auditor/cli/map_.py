"""``witnessmark map``: check a map of a site's own export against a sample, or draft one."""

from functools import partial
from typing import Annotated

import typer

from auditor.cli.standard_output import show
from auditor.cli.terminal import ExitCode, guarded, look_of_stdout

app = typer.Typer(
    help="Maps of a site's own exports: check one against a sample, or draft one.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


@app.command()
def check(
    file: Annotated[str, typer.Argument(help="The map (TOML).")],
    sample: Annotated[str, typer.Option(help="An export that the map is for.")],
) -> None:
    """Show, setting by setting, what a map takes from a sample and what it does not."""
    raise typer.Exit(guarded(partial(_check, file, sample)))


@app.command()
def draft(sample: Annotated[str, typer.Argument(help="An export to draft a map for.")]) -> None:
    """Print a map to start from, by matching the names of a sample's settings."""
    raise typer.Exit(guarded(partial(_draft, sample)))


def _check(file: str, sample: str) -> ExitCode:
    from auditor.fleet.choices import load_map_file
    from auditor.fleet.importing import bytes_of
    from auditor.intake.mapping.checking import check_map
    from auditor.report.map_text import map_text

    report = check_map(load_map_file(file), bytes_of(sample), sample)
    show(map_text(report, look_of_stdout()))
    return ExitCode.RELEASED


def _draft(sample: str) -> ExitCode:
    from auditor.fleet.importing import bytes_of
    from auditor.intake.mapping.draft_map import draft_map

    show(draft_map(bytes_of(sample), sample).removesuffix("\n"))
    return ExitCode.RELEASED
