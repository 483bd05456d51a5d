"""``witnessmark seal``: replace clear secrets by what may be known of them, or look for some."""

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.standard_output import show
from auditor.cli.terminal import ExitCode, guarded, say
from auditor.dataclass import dataclass, field

if TYPE_CHECKING:
    from auditor.facts.fact import Context
    from auditor.fleet.seal_files import RecordFile


def seal(
    paths: Annotated[
        list[str] | None, typer.Argument(metavar="RECORD...", help="Records: files or folders.")
    ] = None,
    key: Annotated[
        str | None,
        typer.Option("--key", metavar="FILE", help="The site's key; the same for all its records."),
    ] = None,
    to: Annotated[
        str | None, typer.Option("--to", metavar="FOLDER", help="Write there, not in place of the records.")
    ] = None,
    check: Annotated[
        bool, typer.Option("--check", help="Change nothing; say where a clear secret is left.")
    ] = False,
    site: Annotated[
        str | None, typer.Option("--site", help="The site's own choices: its list of words, if it has one.")
    ] = None,
    new_key: Annotated[
        str | None, typer.Option("--new-key", metavar="FILE", help="Make a key, in a file of its own.")
    ] = None,
) -> None:
    """Replace every clear secret of records by what the rules need to know of it.

    Sealed records audit as before. Exit code 0: done, or nothing is left to seal. 1: --check
    found a clear secret. 2: something could not be used; the rest was sealed.
    """
    wanted = [bool(key), check, bool(new_key)]
    beside = bool(to or site)
    if sum(wanted) != 1 or (new_key and (paths or beside)) or (check and beside) or not (paths or new_key):
        raise typer.BadParameter(_USE)
    if new_key:
        raise typer.Exit(guarded(partial(_make_key, new_key)))
    work = partial(_check, paths or []) if check else partial(_seal, paths or [], key or "", to, site)
    raise typer.Exit(guarded(work))


_USE = "give records and --key FILE, or records and --check, or --new-key FILE alone"


def _make_key(file: str) -> ExitCode:
    from auditor.intake.site_key import make_key_file

    make_key_file(file)
    say(
        f"A new key is in {file}, for you alone to read.\n"
        "  Keep a copy in the site's password store, and never beside the records or in their repository:\n"
        "  who has both can try out secrets at leisure."
    )
    return ExitCode.RELEASED


def _check(paths: Sequence[str]) -> ExitCode:
    from auditor.fleet.seal_files import unsealed

    secrets = unusable = 0
    for found in unsealed(paths):
        secrets += found.is_secret
        unusable += not found.is_secret
        tell = show if found.is_secret else say
        tell(str(found.fault))
    if secrets:
        return ExitCode.HELD
    return ExitCode.UNUSABLE if unusable else ExitCode.RELEASED


@dataclass(frozen=True, slots=True)
class Sealing:
    """What all files of a run are sealed with: the site's key, the words, the folder (None: in place)."""

    key: bytes = field(repr=False)
    context: "Context"
    to: str | None


def _seal(paths: Sequence[str], key_file: str, to: str | None, site: str | None) -> ExitCode:
    from auditor.errors import Fault, InputError
    from auditor.fleet.seal_files import files_of
    from auditor.intake.site_key import read_key_file

    sealing = Sealing(read_key_file(key_file), _context(site), to)
    failed = False
    for file in files_of(paths):
        try:
            if isinstance(file, Fault):
                raise InputError([file])  # noqa: TRY301 - one way to tell a fault
            _seal_file(file, sealing)
        except InputError as error:
            failed = True
            say(str(error))
    return ExitCode.UNUSABLE if failed else ExitCode.RELEASED


def _seal_file(file: "RecordFile", sealing: Sealing) -> None:
    from auditor.fleet.seal_files import sealed_file
    from auditor.report.output import open_output, worded
    from auditor.report.plain import plain

    sealed = sealed_file(file.path, sealing.key, sealing.context)
    target = Path(sealing.to, file.below) if sealing.to else Path(file.path)
    if not (sealed.changed or sealing.to):
        say(f"{plain(file.path)}: nothing to seal")
        return
    if sealing.to:
        with worded(sealing.to):
            Path(sealing.to).mkdir(exist_ok=True)
            target.parent.mkdir(parents=True, exist_ok=True)
    with open_output(target) as stream:
        stream.write(sealed.content)
    say(f"{plain(str(target))}: {sealed.secrets} sealed")


def _context(site: str | None) -> "Context":
    """Return what sealing knows of well-known words; it asks for no moment."""
    from datetime import UTC, datetime

    from auditor.fleet.choices import load_word_list
    from auditor.fleet.context import context_of_run
    from auditor.rules.word_list import NO_WORDS

    return context_of_run(datetime.now(UTC), load_word_list(site) if site else NO_WORDS)
