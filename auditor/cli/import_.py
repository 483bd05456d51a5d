"""``witnessmark import``: settings from where they are → records, with what was lost on the way."""

import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.as_of import moment_given
from auditor.cli.terminal import ExitCode, guarded, look_of_stdout, say
from auditor.intake.recognise import SourceFormat

if TYPE_CHECKING:
    from auditor.fleet.importing import ImportedRecord
    from auditor.report.import_text import Brought
    from auditor.rules.program import Program


def import_settings(
    sources: Annotated[
        list[str] | None, typer.Argument(metavar="SOURCE...", help="Exports, captures, sheets, worksheets.")
    ] = None,
    to: Annotated[str | None, typer.Option("--to", help="Folder for the records, one file a card.")] = None,
    form: Annotated[
        SourceFormat | None, typer.Option("--as", help="What the sources are, where they don't show it.")
    ] = None,
    map_file: Annotated[
        str | None, typer.Option("--map", help="Map (TOML) of the site's own export.")
    ] = None,
    card_id: Annotated[str, typer.Option(help="Card id for a source that names none.")] = "",
    taken_at: Annotated[
        str, typer.Option(help="Moment of the capture, where a source tells none: 2026-11-25T12:00:00Z.")
    ] = "",
    template: Annotated[str | None, typer.Option(help="Print an empty form instead: sheet.")] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Replace records that are there.")] = False,
    site: Annotated[str | None, typer.Option(help="The site's own choices (witnessmark.toml).")] = None,
) -> None:
    """Bring settings in from exports, captures, sheets and worksheets, and write records.

    Exit code 0: all was read. 2: something could not be used; the rest was written.
    """
    if template is not None:
        raise typer.Exit(guarded(partial(_print_template, template)))
    if not sources or to is None:
        raise typer.BadParameter("name the sources, and the folder for the records with --to")
    if taken_at:
        moment_given(taken_at)
    work = partial(
        _import, sources, Path(to), form=form, map_file=map_file, card_id=card_id, taken_at=taken_at
    )
    raise typer.Exit(guarded(partial(work, replace=replace, site=site)))


def _print_template(name: str) -> ExitCode:
    from auditor.intake.sheet import template

    if name != "sheet":
        say(f"no template {name}\n  Known: sheet.")
        return ExitCode.UNUSABLE
    sys.stdout.write(template())
    return ExitCode.RELEASED


def _import(  # as many as the command has options
    sources: Sequence[str], to: Path, *, form: SourceFormat | None, map_file: str | None,
    card_id: str, taken_at: str, replace: bool, site: str | None,
) -> ExitCode:  # fmt: skip
    from auditor.errors import InputError
    from auditor.fleet.choices import load_map_file, load_program
    from auditor.fleet.importing import ImportChoices, import_records
    from auditor.report.import_text import import_text

    chosen = load_map_file(map_file) if map_file else None
    choices = ImportChoices(form, chosen, card_id, taken_at)
    program = load_program(site=site)
    brought: list[Brought] = []
    failed = False
    for outcome in import_records(sources, choices):
        if isinstance(outcome, InputError):
            failed = True
            say(str(outcome))
        else:
            brought.append(_write(outcome, to, program, replace=replace))
    sys.stdout.write(import_text(brought, look_of_stdout()) + "\n")
    return ExitCode.UNUSABLE if failed else ExitCode.RELEASED


def _write(found: "ImportedRecord", to: Path, program: "Program", *, replace: bool) -> "Brought":
    from dataclasses import replace as altered

    from auditor.errors import OutputError
    from auditor.fleet.audit import assess_now
    from auditor.intake.work_tree import WorkTrees
    from auditor.report.import_text import Brought
    from auditor.report.output import open_output
    from auditor.scoring.knowledge import knowledge_of

    target = to / f"{found.record.card_id}.json"
    if target.exists() and not replace:
        raise OutputError(str(target), "there is a record already", "Use --replace, or another folder.")
    to.mkdir(parents=True, exist_ok=True)
    with open_output(target) as stream:
        stream.write(found.record.text.reveal())
    record = altered(found.record, in_work_tree=WorkTrees().hold(str(target)))
    knowledge = knowledge_of(record.settings, assess_now(record, program))
    return Brought(str(target), found.merged, knowledge)
