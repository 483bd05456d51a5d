"""Evidence for people: figures as long as they help, choices said once."""

import pytest

from auditor.report.evidence_text import observed_text, with_expected
from auditor.rules.evidence import Evidence

CHOICE = "or else another of these"


@pytest.mark.parametrize(
    ("observed", "expected", "fact", "shown"),
    [
        ("26.20967742 %", "at least 30 %", "share", "26.21 %"),
        ("3.000001", "at most 2", "ratio", "3"),
        ("0.5 s", "at most 0.1 s", "delay", "0.5 s"),
        ("29.99999 %", "at least 30 %", "share", "29.99999 %"),
        ("29.99999 %", "at least 30.5 %", "share", "30 %"),
        ("1.23456", "another value", "", "1.23456"),
        ("3.10.12345", "another value", "versions", "3.10.12345"),
        ("can't be told", "known", "share", "can't be told"),
    ],
)
def test_what_a_fact_worked_out_is_rounded(observed: str, expected: str, fact: str, shown: str) -> None:
    """To two decimals; but never to the very figure that was asked for, and no setting of the record."""
    assert observed_text(Evidence("/log", observed, expected, fact)) == shown


def test_a_choice_is_said_once_behind_its_last_line() -> None:
    """Lines without a choice, or with one of their own, stay as they are."""
    lines = [
        Evidence("/a", "on", "off"),
        Evidence("/b", "on", "off", enough=CHOICE),
        Evidence("/c", "off", "on", enough=CHOICE),
        Evidence("/d", "on", "off", enough="in one member"),
    ]
    assert [said for _, said in with_expected(lines)] == [
        "off", "off", f"on (each: {CHOICE})", "off, in one member",
    ]  # fmt: skip
    assert [each for each, _ in with_expected(lines)] == lines
