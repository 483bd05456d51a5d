"""The worksheet as Markdown: tables with empty cells, to be printed or filled in by an editor."""

from collections.abc import Iterator
from typing import BinaryIO

from auditor.report.markdown_text import prose, table
from auditor.report.worksheet import Line, Part, Table, Worksheet

_BOX = "☐"
_KNOWN = "known"


def write_markdown(worksheet: Worksheet, stream: BinaryIO) -> None:
    """Write the form: head, cautions, then each part of the visit."""
    stream.write("\n".join(_lines(worksheet)).encode() + b"\n")


def _lines(worksheet: Worksheet) -> Iterator[str]:
    yield "# Worksheet: settings to read off by hand"
    yield ""
    yield from table(["", ""], [(prose(box.title), prose(box.value)) for box in worksheet.head])
    yield from ("", "## Before you begin", "")
    yield from (f"- {prose(caution)}" for caution in worksheet.cautions)
    for number, part in enumerate(worksheet.parts, start=1):
        yield from ("", f"## {number}. {prose(part.title)}", "")
        yield from (f"- {prose(how)}" for how in part.how)
        yield from _sections(part)
    if not worksheet.parts:
        yield from ("", "Nothing is left to read: the record knows every setting that can be read by hand.")
    yield from (
        "",
        "Read off by: ______________________ Checked by: ______________________ Date: ____________",
    )


def _sections(part: Part) -> Iterator[str]:
    for section in part.sections:
        yield from ("", f"### {prose(section.title)}")
        for form in (form for form in section.tables if form.lines):
            if form.title:
                yield from ("", f"#### {prose(form.title)}")
            yield from ("", *_table(form))


def _table(form: Table) -> list[str]:
    many = len(form.columns) > 1 or form.columns != ("",)
    names = [prose(name) for name in form.columns] if many else ["Value"]
    return table(["Read off", "Allowed", *names, "Initials"], (_row(line, len(names)) for line in form.lines))


def _row(line: Line, columns: int) -> list[str]:
    answers = [_answer(line, pointer) for pointer in line.pointers]
    answers += [""] * (columns - len(answers))
    allowed = "" if line.ticks else f"{line.allowed} {line.unit}"
    return [f"**{prose(line.title)}** {prose(line.text)}", prose(allowed), *answers, ""]


def _answer(line: Line, pointer: str) -> str:
    if not pointer:
        return _KNOWN
    return "<br>".join(f"{_BOX} {prose(tick)}" for tick in line.ticks)
