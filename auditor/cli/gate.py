"""``witnessmark gate``: decide on a change of settings, against a folder or a revision before it."""

import io
from collections.abc import Sequence
from contextlib import ExitStack
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.as_of import moment_given
from auditor.cli.cache import key_store
from auditor.cli.ends import STDOUT, pair_ends
from auditor.cli.options import Deviations, Rulesets, Site
from auditor.cli.reports import HoldAt, opened, say_end
from auditor.cli.terminal import ExitCode, guarded, look_of_stdout, say
from auditor.report.writer import Look, Run
from auditor.scoring.band import Band

if TYPE_CHECKING:
    from auditor.change.gate import Decision
    from auditor.intake.changed import Changed, Opened
    from auditor.intake.revision import Revision

_FORMATS = ("table", "json", "markdown", "html", "sarif", "junit")


def gate(
    paths: Annotated[
        list[str],
        typer.Argument(
            metavar="BEFORE AFTER | PATH...", help="Two files or folders of records; with --against, records."
        ),
    ],
    against: Annotated[
        str | None,
        typer.Option(
            metavar="REV",
            help="Revision of the git repository around the paths: branch, tag, commit, HEAD~2; main... "
            "is where the branch left main.",
        ),
    ] = None,
    ruleset: Rulesets = None,
    site: Site = None,
    deviations: Deviations = None,
    formats: Annotated[
        list[str] | None, typer.Option("--format", help=f"One of {', '.join(_FORMATS)}. Repeatable.")
    ] = None,
    outputs: Annotated[
        list[str] | None,
        typer.Option(
            "--output", help="File for the format in the same place; - is standard output. Repeatable."
        ),
    ] = None,
    hold_at: Annotated[
        HoldAt | None,
        typer.Option(help="Hold when a new finding is this severe, or more.", show_default="medium"),
    ] = None,
    as_of: Annotated[
        datetime | None,
        typer.Option(
            parser=moment_given, metavar="DATE|DATE-TIME", help="Judge both states as of then, not now."
        ),
    ] = None,
) -> None:
    """Decide whether a change of settings may pass: release, or hold with the reasons.

    Only records that changed are audited; of git, only the objects are read. Exit code 0:
    release. 1: hold. 2: a changed record can't be used, and the rest was judged; or a path or
    the call can't be used, and nothing was.
    """
    if against is None and len(paths) != 2:  # noqa: PLR2004 - before and after
        raise typer.BadParameter("give BEFORE and AFTER, or --against REV and paths")
    ends = pair_ends(formats or [], outputs or [], _FORMATS)
    choices = partial(_gate, paths, against, ends, as_of or datetime.now(UTC))
    work = partial(choices, rulesets=ruleset or [], site=site, deviations=deviations, hold_at=hold_at)
    raise typer.Exit(guarded(work))


def _gate(
    paths: Sequence[str], against: str | None, ends: Sequence[tuple[str, str]], moment: datetime, *,
    rulesets: Sequence[str], site: str | None, deviations: str | None, hold_at: HoldAt | None,
) -> ExitCode:  # fmt: skip
    from auditor.change.gate import Terms, Unusable, decide
    from auditor.change.site_deviations import load_deviations
    from auditor.fleet.audit import hold_band
    from auditor.fleet.choices import load_crosswalks, load_program
    from auditor.fleet.context import context_of_run
    from auditor.fleet.inputs import refuse_overwriting
    from auditor.version import VERSION

    program = load_program(rulesets, site)
    accepted = load_deviations(deviations, program)
    words = program.tailoring.word_list.file
    others = (*rulesets, site or "", words, accepted.file if accepted else "")
    refuse_overwriting([output for _, output in ends], [*paths, *filter(None, others)])
    changed = _changed(paths, against)
    formats = frozenset(name for name, _ in ends)
    hold = hold_band(Band(hold_at) if hold_at else None, program)
    located = "sarif" in formats
    terms = Terms(
        program, context_of_run(moment, program.tailoring.word_list, key_store()), hold, accepted, located
    )
    unusable = Unusable(
        *(tuple(error.faults for error in side.errors) for side in (changed.before, changed.after))
    )
    decision = decide(
        changed.before.records, changed.after.records, terms, unchanged=changed.unchanged, unusable=unusable
    )
    crosswalks = load_crosswalks() if located else ()
    _write(decision, Run(VERSION, moment, program, crosswalks, formats=formats, deviations=accepted), ends)
    return _end(changed, ends, decision)


def _changed(paths: Sequence[str], against: str | None) -> "Changed":
    from auditor.intake.changed import changed_records
    from auditor.intake.source import open_sources

    if against is None:
        before, after = (partial(open_sources, [path], io.BytesIO()) for path in paths)
        _refuse_no_state(paths[0], before, after)
        return changed_records(before, after)
    from auditor.intake.revision import Revision  # a slow import

    with Revision(against, paths) as revision:
        kept = [path for path in paths if not _is_gone(path, revision)]
        return changed_records(revision.raw_records, partial(open_sources, kept, io.BytesIO()))


def _refuse_no_state(path_before: str, before: "Opened", after: "Opened") -> None:
    """Refuse paths that lead to no record: a wrong path is no change.

    Only before may a folder be empty: the first card is still to come. After, a wrong path is
    likelier than an estate that is gone.

    Raises:
        InputError: with what is wrong with either path.
    """
    from auditor.errors import InputError
    from auditor.intake.changed import faults_of_nothing
    from auditor.intake.folder import is_without_records

    sides = [after] if is_without_records(path_before) else [before, after]
    faults = [fault for side in sides for fault in faults_of_nothing(side)]
    if faults:
        raise InputError(faults)


def _is_gone(path: str, revision: "Revision") -> bool:
    """Tell whether nothing lies at a path any more; what never was there is a fault of the call."""
    from auditor.intake.folder import is_without_records

    return is_without_records(path) or (not Path(path).exists() and revision.holds(path))


def _write(decision: "Decision", run: Run, ends: Sequence[tuple[str, str]]) -> None:
    from auditor.report.gate_formats import GATE_FORMATS

    with ExitStack() as stack:
        streams = [opened(stack, output) for _, output in ends]
        for (name, output), stream in zip(ends, streams, strict=True):
            look = look_of_stdout() if output == STDOUT else Look()
            stream.write(GATE_FORMATS[name]()(decision, run, look))


def _end(changed: "Changed", ends: Sequence[tuple[str, str]], decision: "Decision") -> ExitCode:
    """Say what could not be used and what was decided, and return the exit code.

    What was unusable before is only told.
    """
    from auditor.report.gate_view import verdict_sentence, verdict_word

    if not (("table", STDOUT) in ends and look_of_stdout().tells_faults):
        for error in changed.before.errors:
            say(f"Before the change, and not compared:\n{error}")
    for error in changed.after.errors:
        say(str(error))
    say_end(ends, lambda: f"{verdict_word(decision).capitalize()}: {verdict_sentence(decision)}")
    if changed.after.errors:
        return ExitCode.UNUSABLE
    return ExitCode.HELD if decision.held else ExitCode.RELEASED
