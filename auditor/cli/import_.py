"""``witnessmark import``: settings from where they are → records, with what was lost on the way."""

from collections.abc import Sequence
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.as_of import moment_given
from auditor.cli.cache import key_store
from auditor.cli.options import Site
from auditor.cli.standard_output import show
from auditor.cli.terminal import ExitCode, guarded, look_of_stdout, say
from auditor.dataclass import replace as altered
from auditor.intake.recognise import SourceFormat

if TYPE_CHECKING:
    from auditor.facts.fact import Context
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
    site: Site = None,
) -> None:
    """Bring settings in from exports, captures, sheets and worksheets, and write records.

    Exit code 0: all was read. 2: something could not be used; the rest was written. 3: a fault
    of ours.
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
    show(template().removesuffix("\n"))
    return ExitCode.RELEASED


def _import(  # as many as the command has options
    sources: Sequence[str], to: Path, *, form: SourceFormat | None, map_file: str | None,
    card_id: str, taken_at: str, replace: bool, site: str | None,
) -> ExitCode:  # fmt: skip
    from auditor.errors import InputError
    from auditor.fleet.choices import load_map_file, load_program
    from auditor.fleet.context import context_of_run
    from auditor.fleet.importing import ImportChoices, import_records
    from auditor.report.import_text import import_text

    chosen = load_map_file(map_file) if map_file else None
    choices = ImportChoices(form, chosen, card_id, taken_at)
    program = load_program(site=site)
    outcomes = list(import_records(sources, choices))
    for outcome in outcomes:
        if isinstance(outcome, InputError):
            say(str(outcome))
    found = [outcome for outcome in outcomes if not isinstance(outcome, InputError)]
    targets = _targets(found, to, replace=replace)
    context = context_of_run(datetime.now(UTC), program.tailoring.word_list, key_store())
    brought = [_write(*pair, program, context) for pair in zip(found, targets, strict=True)]
    show(import_text(brought, look_of_stdout(), str(to)))
    return ExitCode.RELEASED if len(found) == len(outcomes) else ExitCode.UNUSABLE


def _targets(found: "Sequence[ImportedRecord]", to: Path, *, replace: bool) -> list[Path]:
    """Return the file of each record; all are looked at before the first one is written.

    Raises:
        OutputError: if one is there and must stay, or the folder can't be made.
    """
    from auditor.errors import OutputError
    from auditor.report.output import worded

    targets = [to / f"{each.record.card_id}.json" for each in found]
    there = [] if replace else [target for target in targets if target.exists()]
    if there:
        more = f", and {len(there) - 1} more of them" if len(there) > 1 else ""
        problem = f"there is a record already{more}; nothing was written"
        raise OutputError(str(there[0]), problem, "Use --replace, or another folder.")
    if found:
        with worded(str(to)):
            to.mkdir(exist_ok=True)
    return targets


def _write(found: "ImportedRecord", target: Path, program: "Program", context: "Context") -> "Brought":
    from auditor.intake.work_tree import WorkTrees
    from auditor.report.import_text import Brought
    from auditor.report.output import open_output
    from auditor.scoring.assessment import assess
    from auditor.scoring.knowledge import knowledge_of

    # What was imported may hold secrets in clear.
    with open_output(target, owner_only=True) as stream:
        stream.write(found.record.text.reveal())
    record = altered(found.record, in_work_tree=WorkTrees().hold(str(target)))
    knowledge = knowledge_of(record.settings, assess(record, program, context, compiled=False))
    return Brought(str(target), found.merged, knowledge)
