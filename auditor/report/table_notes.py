"""What the report for a terminal begins and ends with, for one card and for many."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from auditor.dataclass import dataclass
from auditor.errors import Fault
from auditor.fleet.estate import EstateSummary
from auditor.report.caution import CAUTIONS
from auditor.report.figures import moment_text, one_line
from auditor.report.ink import OF_BAND, Ink, Style
from auditor.report.layout import flow, width_of, wrap
from auditor.report.plain import plain
from auditor.report.tailored import choices
from auditor.report.verdict import counted, unusable_counted, verdict
from auditor.report.writer import TOOL, Run

_SHOWN_FAULTS = 10


@dataclass(frozen=True, slots=True)
class Page:
    """Where a report for a terminal is written: the run, the columns there are, the colours.

    ``tells_faults`` is false where the faults of records are told elsewhere.
    """

    run: Run
    width: int
    ink: Ink
    tells_faults: bool = True

    def heading(self, title: str, note: str = "") -> str:
        """Return a heading with a note at the right edge."""
        space = " " * max(2, self.width - width_of(title) - width_of(note))
        return self.ink(title, Style.STRONG) + (space + self.ink(note, Style.FAINT) if note else "")

    def joined(self, parts: Iterable[str]) -> list[str]:
        """Return parts from a record or a ruleset in lines, broken between parts where possible."""
        return flow(map(plain, filter(None, parts)), self.width)

    def wrapped(self, text: str, indent: str = "") -> list[str]:
        """Return text from a record or a ruleset in lines, later ones indented further."""
        return wrap(plain(text), self.width, first=indent, later=f"{indent}  ")


def verdict_block(page: Page, summary: EstateSummary) -> list[str]:
    """Return the verdict, in words."""
    said = verdict(summary)
    style = OF_BAND[summary.whole.worst.value] if summary.held else Style.GOOD
    lines = wrap(f"{said.word.upper()}: {said.reason}", page.width)
    if not summary.whole.cards:
        return lines
    word = said.word.upper()
    return [page.ink(word, style) + lines[0].removeprefix(word), *lines[1:]]


def run_line(page: Page) -> list[str]:
    """Return what was audited, when, and by which rules."""
    program = page.run.program
    parts = [
        program.tailoring.operator,
        f"as of {moment_text(page.run.as_of)}",
        *(f"{ruleset.name} {ruleset.version}" for ruleset in program.rulesets),
        f"{TOOL} {page.run.version}",
    ]
    return [page.ink(line, Style.FAINT) for line in page.joined(parts)]


def closing_blocks(page: Page, summary: EstateSummary) -> Iterator[list[str]]:
    """Yield the unusable records, what was tailored, the cautions, and where to read on."""
    yield _faults(page, summary)
    yield _tailoring(page)
    yield _cautions(page, summary)
    yield _more(page, summary)


def _faults(page: Page, summary: EstateSummary) -> list[str]:
    if not summary.unusable:
        return []
    heading = page.heading("Not audited", unusable_counted(summary))
    return [heading, *(_told if page.tells_faults else _named)(page, summary.faults)]


def _told(page: Page, faults: Sequence[Fault]) -> Iterator[str]:
    for fault in faults[:_SHOWN_FAULTS]:
        yield from _fault(page, fault)
    more = len(faults) - _SHOWN_FAULTS
    if more > 0:
        yield from page.wrapped(f"… and {counted(more, 'fault')} more; --format json lists them.")


def _named(page: Page, faults: Sequence[Fault]) -> Iterator[str]:
    files = Counter(fault.file for fault in faults)
    for file, count in files.most_common(_SHOWN_FAULTS):
        yield from page.wrapped(f"{file}: {counted(count, 'fault')}, told on standard error")
    more = len(files) - _SHOWN_FAULTS
    if more > 0:
        yield from page.wrapped(f"… and {counted(more, 'file')} more")


def _fault(page: Page, fault: Fault) -> list[str]:
    place, _, remedy = str(fault).rpartition("\n  ")
    return [*page.wrapped(place), *page.wrapped(remedy, "  ")]


def _tailoring(page: Page) -> list[str]:
    chosen = choices(page.run.program)
    if not chosen:
        return []
    lines = [page.heading("Tailored by the site", plain(page.run.program.tailoring.file))]
    for choice in chosen:
        lines += page.wrapped(f"{choice.kind} {choice.name}".rstrip() + f": {one_line(choice.text)}")
    return lines


def _cautions(page: Page, summary: EstateSummary) -> list[str]:
    if not any(summary.whole.findings_by_band.values()):
        return []
    return [page.heading("Before you change anything"), *wrap(" ".join(CAUTIONS), page.width)]


def _more(page: Page, summary: EstateSummary) -> list[str]:
    rule = next((f.rule.id for card in summary.worst_cards for f in card.findings), "")
    lines = []
    if rule:
        lines += page.wrapped(f"{TOOL} rules show {rule}")
        lines += page.wrapped("why it matters, how to mend it, how the severity was worked out", "  ")
    if summary.whole.cards and "html" not in page.run.formats:
        lines += page.wrapped("--format html --output report.html")
        lines += page.wrapped("everything, for people; json, ndjson, csv and markdown are there too", "  ")
    return [page.heading("Read on"), *lines] if lines else []
