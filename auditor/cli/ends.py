"""Where the reports of a run go: pairs of format and output. Opens nothing."""

from collections.abc import Collection, Mapping, Sequence
from pathlib import Path, PurePath
from typing import TypeVar

import typer

from auditor.report.formats import ENDINGS, FORMATS, format_of_file

STDOUT = "-"

_Form = TypeVar("_Form")

_ONE_ONLY = "only one format can go to standard output; name an --output for the others"


def pair_ends(
    formats: Sequence[str], outputs: Sequence[str], known: Collection[str] = FORMATS
) -> list[tuple[str, str]]:
    """Return pairs of format and output; a format without output goes to standard output.

    An output without format takes the format that its ending names. ``known`` are the formats
    that the command has.

    Raises:
        typer.BadParameter: for an unknown format, or two formats for standard output.
    """
    for name in formats:
        if name not in known:
            raise typer.BadParameter(f"no format {name}; known: {', '.join(known)}", param_hint="--format")
    pairs = list(zip(formats, outputs, strict=False))
    pairs += [(name, STDOUT) for name in formats[len(outputs) :]]
    pairs += [(_format_of(output, known), output) for output in outputs[len(formats) :]]
    if sum(output == STDOUT for _, output in pairs) > 1:
        raise typer.BadParameter(_ONE_ONLY)
    if len({output for _, output in pairs}) < len(pairs):
        raise typer.BadParameter("two formats go to one file", param_hint="--output")
    return pairs or [("table", STDOUT)]


def form_of(output: str, endings: Mapping[str, _Form], usual: _Form) -> _Form:
    """Return the format that the ending of an output names; ``usual`` for standard output.

    Raises:
        typer.BadParameter: for a file whose ending names none: it would hold what its name denies.
    """
    if output == STDOUT:
        return usual
    ending = PurePath(output).suffix.lower()
    if ending not in endings:
        raise typer.BadParameter(_why_no_ending(output, endings), param_hint="--output")
    return endings[ending]


def _format_of(output: str, known: Collection[str]) -> str:
    found = format_of_file(output)
    if found is None or found not in known:
        raise typer.BadParameter(_why_unknown(output, known), param_hint="--output")
    return found


def _why_unknown(output: str, known: Collection[str]) -> str:
    if output == STDOUT:
        return "standard output (-) has no ending that names a format; add one, such as --format json"
    return _why_no_ending(output, [ending for ending, name in ENDINGS.items() if name in known])


def _why_no_ending(output: str, endings: Collection[str]) -> str:
    if Path(output).is_dir():
        return f"{output} is a folder; name a file in it, such as {Path(output, 'report.html')}"
    return f"the name {output} ends in none of {', '.join(endings)}; rename it, or add a --format"
