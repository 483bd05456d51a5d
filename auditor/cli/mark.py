"""``witnessmark mark``: keep the approved settings of cards, sealed, one small file a card."""

import io
from collections.abc import Sequence
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from auditor.cli.as_of import moment_given
from auditor.cli.cache import key_store
from auditor.cli.options import Rulesets, Site
from auditor.cli.terminal import ExitCode, guarded, say

LONGEST_NAME = 255
"""As many as the schema of marks allows."""


def mark(
    records: Annotated[
        list[str],
        typer.Argument(metavar="RECORD...", help="Records of cards that were approved: files or folders."),
    ],
    by: Annotated[str, typer.Option(metavar="NAME", help="Who approved them, and answers for it.")],
    to: Annotated[str, typer.Option(metavar="FOLDER", help="Folder of the marks.")] = "marks",
    key: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="The site's key: secrets can be compared, and marks be proved."),
    ] = None,
    ruleset: Rulesets = None,
    site: Site = None,
    as_of: Annotated[
        datetime | None,
        typer.Option(
            parser=moment_given, metavar="DATE|DATE-TIME", help="When they were approved, if not now."
        ),
    ] = None,
) -> None:
    """Mark cards: keep their settings as they were approved, so that it shows if anything moves.

    A mark holds no clear secret. One that was there is replaced: that is a new approval. Exit
    code 0: all were marked. 2: something could not be used; the rest was marked.
    """
    if not 0 < len(by.strip()) <= LONGEST_NAME:
        raise typer.BadParameter(
            f"name who approved the cards, in 1 to {LONGEST_NAME} letters", param_hint="--by"
        )
    work = partial(_mark, records, by.strip(), to, as_of or datetime.now(UTC))
    raise typer.Exit(guarded(partial(work, key=key, rulesets=ruleset or [], site=site)))


def _mark(
    paths: Sequence[str], by: str, to: str, moment: datetime, *,
    key: str | None, rulesets: Sequence[str], site: str | None,
) -> ExitCode:  # fmt: skip
    from auditor.change.mark import make_mark
    from auditor.errors import RecordError
    from auditor.fleet.choices import load_program
    from auditor.fleet.context import context_of_run
    from auditor.intake.mark_files import mark_path
    from auditor.intake.records import read_records
    from auditor.intake.site_key import read_key_file
    from auditor.report.output import open_output, worded
    from auditor.report.plain import plain

    program = load_program(rulesets, site)
    secret = read_key_file(key) if key else None
    context = context_of_run(moment, program.tailoring.word_list, key_store())
    failed = False
    for record in read_records(paths, io.BytesIO()):
        if isinstance(record, RecordError):
            failed = True
            say(str(record))
            continue
        text = make_mark(record, by, context, program, secret)
        target = mark_path(to, record.card_id)
        with worded(to):
            Path(to).mkdir(exist_ok=True)
        with open_output(target) as stream:
            stream.write(text)
        say(f"{plain(str(target))}: marked")
    if secret is None:
        say("Without --key nobody can prove a mark, and a secret that changes may go unseen.")
    return ExitCode.UNUSABLE if failed else ExitCode.RELEASED
