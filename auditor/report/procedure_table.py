"""A procedure for a terminal: the order of the steps, what each mends, restarts and visits.

What is entered, how it is verified and how to go back stands in the formats to print.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import BinaryIO

from auditor.report.figures import moment_text, percent_text
from auditor.report.handover import procedure_sentence
from auditor.report.ink import OF_BAND, Ink, Style
from auditor.report.layout import Cell, Column, Fit, flow, grid, width_of, wrap
from auditor.report.plain import plain
from auditor.report.verdict import counted
from auditor.report.visit_sheet import BlockText, LeftText, PartText, RemainingText, Sheet, VisitText
from auditor.report.visit_step import Mended, StepText
from auditor.report.visit_words import BLOCKS, OUTPUT, RESTART
from auditor.report.writer import Look

_BADGE = 13
_MINUTES = 3
_GAP = "  "

_CARD_COLUMNS = (
    Column("card", fit=Fit.CUT_END),
    Column("place", fit=Fit.CUT_END),
    Column("feeds"),
    Column("findings", number=True),
    Column("score", number=True),
)


def write_table(sheet: Sheet, stream: BinaryIO, look: Look) -> None:
    """Write the procedure as text; widths under 60 columns count as 60."""
    blocks = _Table(sheet, look).blocks()
    stream.write("\n".join("\n".join(block) + "\n" for block in blocks if block).encode())


class _Table:
    """Makes the blocks of one procedure."""

    def __init__(self, sheet: Sheet, look: Look) -> None:
        self._sheet = sheet
        self._width = look.columns
        self._ink = Ink(look.colour)
        steps = (step for visit in sheet.visits for part in visit.parts for step in _steps(part))
        self._number = max((len(step.number) for step in steps), default=0)
        self._told: set[str] = set()

    def blocks(self) -> Iterator[list[str]]:
        """Yield what was planned, for which cards, visit by visit, what is left, and the cautions."""
        yield self._verdict()
        yield self._cards()
        yield self._cautions()
        for visit in self._sheet.visits:
            yield from self._visit(visit)
        yield self._left_out(self._sheet.left_out)
        yield self._remaining(self._sheet.remaining)
        yield self._closing()

    def _verdict(self) -> list[str]:
        sheet, timing = self._sheet, self._sheet.timing
        word, sentence = _verdict_of(sheet)
        style = Style.HIGH if sheet.left_out else Style.GOOD
        first, *rest = wrap(f"{word}: {sentence}", self._width)
        made = [
            sheet.operator,
            f"as of {moment_text(sheet.as_of)}",
            *sheet.rulesets,
            f"worked from {sheet.own_address}" if sheet.own_address else "",
            f"window of {sheet.window} min" if sheet.window else "",
            f"minutes with {timing.before} before and {timing.after} after the steps of a card",
        ]
        said = flow(map(plain, filter(None, made)), self._width)
        return [
            self._ink(word, style) + first.removeprefix(word),
            *rest,
            *(self._ink(line, Style.FAINT) for line in said),
        ]

    def _cards(self) -> list[str]:
        rows = [
            [
                Cell(plain(card.id)),
                Cell(plain(card.place)),
                Cell(card.feeds.replace("_", "-") or "not known"),
                Cell(f"{card.findings_before} → {card.findings_after}"),
                Cell(f"{percent_text(card.score_before)} → {percent_text(card.score_after)}"),
            ]
            for card in self._sheet.cards
        ]
        lines = grid(_CARD_COLUMNS, rows, self._width, self._ink)
        for card in self._sheet.cards:
            on = f" on {card.id}" if len(self._sheet.cards) > 1 else ""
            known = "; ".join(card.ways) or "none is known for certain"
            lines += self._wrapped(f"Ways in at the start{on}: {known}.") if card.findings_before else []
        return lines

    def _visit(self, visit: VisitText) -> Iterator[list[str]]:
        restarts = counted(visit.restarts, "restart")
        blind = f", monitoring blind for {visit.blind_minutes} min" if visit.restarts else ""
        only = f": {plain(visit.parts[0].card)}" if len(visit.parts) == 1 else ""
        yield self._heading(f"Visit {visit.number}{only}", f"{visit.minutes} min, {restarts}{blind}")
        for part in visit.parts:
            if not only:
                yield self._heading(plain(part.card), f"{part.minutes} min")
            for block in part.blocks:
                yield self._block(block)

    def _block(self, block: BlockText) -> list[str]:
        lines = self._heading(BLOCKS[block.kind], "min")
        if block.kind == "output":
            lines += wrap(
                self._once(OUTPUT, "Done alone, with nothing else begun, as told above."), self._width
            )
        for step in block.steps:
            lines += self._step(step)
        if block.restarts:
            minutes = self._sheet.timing.restart
            said = self._once(
                RESTART, "Restart the card once, now, as told above; then verify each step since."
            )
            lines += self._row("", self._ink(f"{'restart':<{_BADGE}}", Style.STRONG), said, minutes)
        return lines

    def _once(self, text: str, again: str) -> str:
        """Return a text that is told in full once, and what stands for it from then on."""
        said = again if text in self._told else text
        self._told.add(text)
        return said

    def _step(self, step: StepText) -> list[str]:
        lines = self._row(step.number, self._badge(_worst(step.mends)), step.title, step.minutes)
        if step.prove:
            lines += self._under(f"Hold: prove first, in a second session: {step.prove}", Style.STRONG)
        rules = ", ".join(dict.fromkeys(mended.rule for mended in step.mends))
        lines += self._under(f"mends {rules or 'nothing by itself; it opens a way in'}", Style.FAINT)
        fallen = ", ".join(dict.fromkeys(mended.rule for mended in step.falls_away))
        return lines + (self._under(f"falls away with this step: {fallen}", Style.FAINT) if fallen else [])

    def _row(self, number: str, badge: str, text: str, minutes: int | None = None) -> list[str]:
        """Return a number, a badge that is inked already, a text beside them, and minutes at the edge."""
        room = self._room
        first, *rest = wrap(plain(text), room)
        space = " " * (room - width_of(first))
        end = f"{space}{_GAP}{minutes:>{_MINUTES}}" if minutes is not None else ""
        start = f"{number:<{self._number}}{_GAP}{badge}{_GAP}"
        return [f"{start}{first}{end}", *(f"{self._indent}{line}" for line in rest)]

    def _under(self, text: str, style: Style) -> list[str]:
        return [f"{self._indent}{self._ink(line, style)}" for line in wrap(plain(text), self._room)]

    @property
    def _indent(self) -> str:
        return " " * (self._number + len(_GAP) + _BADGE + len(_GAP))

    @property
    def _room(self) -> int:
        return self._width - len(self._indent) - len(_GAP) - _MINUTES

    def _badge(self, mended: Mended | None) -> str:
        if mended is None:
            return " " * _BADGE
        return self._ink(f"{mended.band:<8} {mended.severity:>4.1f}", OF_BAND[mended.band])

    def _left_out(self, found: Sequence[LeftText]) -> list[str]:
        if not found:
            return []
        lines = self._heading("Left out, and why", counted(len(found), "step"))
        for left in found:
            lines += self._wrapped(f"{left.card}: {left.title}")
            lines += self._wrapped(_sentence(f"{left.reason} ({left.detail})"), _GAP)
            lines += self._wrapped(f"Instead: {left.instead}", _GAP)
        return lines

    def _remaining(self, found: Sequence[RemainingText]) -> list[str]:
        if not found:
            return []
        lines = self._heading("What remains", counted(len(found), "finding"))
        for each in found:
            badge = self._ink(f"{each.band:<8} {each.severity:>4.1f}", OF_BAND[each.band])
            member = f" ({each.label})" if each.label else ""
            first, *rest = wrap(plain(f"{each.card}: {each.rule}{member}"), self._width - _BADGE - len(_GAP))
            lines += [f"{badge}{_GAP}{first}", *(" " * (_BADGE + len(_GAP)) + line for line in rest)]
            lines += self._wrapped(f"{_sentence(each.reason)} {each.instead}", " " * (_BADGE + len(_GAP)))
        return lines

    def _cautions(self) -> list[str]:
        lines = [line for caution in self._sheet.cautions for line in self._wrapped(caution)]
        return [*self._heading("Before you act on it"), *lines]

    def _closing(self) -> list[str]:
        sheet = self._sheet
        lines = self._wrapped(sheet.sharing) if sheet.sharing else []
        if sheet.has_open_values:
            lines += self._wrapped(
                "Values that come from the site count as unknown in the score after, until they are captured."
            )
        if not sheet.is_empty:
            lines += self._wrapped(
                "What to do before and after, when to stop, what to enter, how to verify it and how to go "
                "back: --output visit.html, to print and to sign, or --format markdown."
            )
        return lines

    def _heading(self, title: str, note: str = "") -> list[str]:
        """Return a heading with a note at the right edge, or below it where there is no room."""
        space = self._width - width_of(title) - width_of(note)
        if note and space < len(_GAP):
            return [
                *self._heading(title),
                *(self._ink(line, Style.FAINT) for line in wrap(note, self._width)),
            ]
        first, *rest = (self._ink(line, Style.STRONG) for line in wrap(title, self._width))
        return [first + (" " * space + self._ink(note, Style.FAINT) if note else ""), *rest]

    def _wrapped(self, text: str, indent: str = "") -> list[str]:
        return wrap(plain(text), self._width, first=indent, later=f"{indent}  ")


def _verdict_of(sheet: Sheet) -> tuple[str, str]:
    said = procedure_sentence(sheet)
    if sheet.is_empty:
        return "NOTHING TO DO", said.removeprefix("Nothing to do: ")
    return ("PLANNED IN PART" if sheet.left_out else "PLANNED"), said


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


def _steps(part: PartText) -> Iterator[StepText]:
    for block in part.blocks:
        yield from block.steps


def _worst(mends: Iterable[Mended]) -> Mended | None:
    return max(mends, key=lambda mended: mended.severity, default=None)
