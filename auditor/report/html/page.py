"""The HTML report: one file, nothing fetched, only its own style and script allowed to act."""

import hashlib
from base64 import b64encode
from typing import BinaryIO

from auditor.fleet.estate import EstateSummary
from auditor.report.by_control import ControlCards
from auditor.report.html.asset import asset
from auditor.report.html.running_head import RunningHead, running_head
from auditor.report.mend_care import FoundTogether
from auditor.report.writer import Look, Run, Writer
from auditor.scoring.assessment import CardAssessment

_PIECES_AT_ONCE = 512
_NAMED_CARDS = 8
NONE = "'none'"


def make_html(run: Run, stream: BinaryIO, look: Look, *, paper: str = "") -> Writer:  # noqa: ARG001 - a page has no columns
    """Make a writer of the HTML report; only its ``finish`` writes.

    ``paper`` is a size of CSS, such as ``A4``, or empty for what the printer holds.
    """
    return _Page(run, stream, paper)


class _Page:
    """Writes the page from the sums, which hold the cards that it shows in full."""

    def __init__(self, run: Run, stream: BinaryIO, paper: str) -> None:
        self._run = run
        self._stream = stream
        self._paper = paper
        self._controls = ControlCards(run)
        self._together = FoundTogether(run.program.rules)

    def add(self, assessment: CardAssessment) -> None:
        """Count the controls that a card fails, and what was found together; the sums keep the rest."""
        self._controls.add(assessment)
        self._together.add(assessment)

    def finish(self, summary: EstateSummary) -> None:
        """Write the page."""
        from auditor.report.html.template import page_template  # slow imports, for this format only
        from auditor.report.html.view import view_of

        head = _head(self._run, summary, self._paper)
        style, script = asset("style.css") + head.style, asset("script.js")
        pieces = page_template(asset("report.html.j2")).stream(
            view=view_of(self._run, summary, self._controls, self._together),
            style=style,
            script=script,
            policy=policy(style, script),
        )
        pieces.enable_buffering(_PIECES_AT_ONCE)
        for piece in pieces:
            self._stream.write(piece.encode("utf-8"))


def _head(run: Run, summary: EstateSummary, paper: str) -> RunningHead:
    """Return the margins of the paper; an estate goes by its operator, a few cards by their names."""
    cards = [card.card.id for card in summary.worst_cards]
    many = summary.whole.cards > _NAMED_CARDS
    names = [run.program.tailoring.operator or f"{summary.whole.cards} cards"] if many else cards
    rules = [f"{ruleset.name} {ruleset.version}" for ruleset in run.program.rulesets]
    return running_head("Settings audit", names, run.as_of, rules, paper)


def policy(style: str, script: str = "") -> str:
    """Return the content security policy of a page: nothing but this style and this script, if any.

    Source: W3C Content Security Policy Level 3, section 2.3.1 (hash sources; from memory).
    """
    rules = (
        "default-src 'none'",
        f"style-src {_hash_of(style)}",
        f"script-src {_hash_of(script) if script else NONE}",
        "base-uri 'none'",
        "form-action 'none'",
    )
    return "; ".join(rules)


def _hash_of(text: str) -> str:
    return f"'sha256-{b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
