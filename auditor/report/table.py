"""The report for a terminal: the verdict first, then the worst, then the rest."""

from collections.abc import Iterator
from typing import BinaryIO

from auditor.fleet.estate import EstateSummary
from auditor.report.ink import Ink
from auditor.report.kinds import FindingKinds
from auditor.report.table_card import card_blocks
from auditor.report.table_estate import estate_blocks
from auditor.report.table_notes import Page, closing_blocks, verdict_block
from auditor.report.writer import Look, Run
from auditor.scoring.assessment import CardAssessment


class Table:
    """Counts the findings as the cards come, and writes everything at the end."""

    def __init__(self, run: Run, stream: BinaryIO, look: Look) -> None:
        """Start with no card."""
        self._page = Page(run, look.columns, Ink(look.colour), look.tells_faults)
        self._stream = stream
        self._kinds = FindingKinds()

    def add(self, assessment: CardAssessment) -> None:
        """Take one card."""
        self._kinds.add(assessment)

    def finish(self, summary: EstateSummary) -> None:
        """Write the blocks of the report, a blank line between them."""
        blocks = ("\n".join(block) + "\n" for block in self._blocks(summary) if block)
        self._stream.write("\n".join(blocks).encode())

    def _blocks(self, summary: EstateSummary) -> Iterator[list[str]]:
        page = self._page
        yield verdict_block(page, summary)
        if summary.whole.cards == 1:
            yield from card_blocks(page, summary.worst_cards[0])
        elif summary.whole.cards:
            yield from estate_blocks(page, summary, self._kinds.worst_first)
        if summary.deviations is not None:
            from auditor.report.table_deviations import deviation_block  # many runs have no deviations

            yield deviation_block(page, summary)
        yield from closing_blocks(page, summary)


def make_table(run: Run, stream: BinaryIO, look: Look) -> Table:
    """Return a writer of the report for a terminal; widths under 60 columns count as 60."""
    return Table(run, stream, look)
