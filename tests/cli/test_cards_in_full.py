"""Of the worst cards, a run keeps as many as its reports show: a report is the same where more are kept."""

from pathlib import Path
from types import MappingProxyType

import pytest
from typer.testing import CliRunner

from auditor.cli import reports
from auditor.cli.main import app
from auditor.report.formats import FORMATS
from tests.bench.estate import write_estate

MORE = 150


@pytest.mark.parametrize("form", FORMATS)
def test_keeping_more_cards_changes_no_report(
    form: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Over an estate that has more cards than any format but one shows."""
    estate = tmp_path / "estate.ndjson"
    write_estate(estate, MORE)
    call = ["audit", str(estate), "--format", form, "--as-of", "2026-11-25"]
    told = CliRunner().invoke(app, call).stdout
    monkeypatch.setattr(reports, "CARDS_IN_FULL", MappingProxyType({form: MORE}))
    assert CliRunner().invoke(app, call).stdout == told != ""
