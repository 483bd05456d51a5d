"""Two cards with one address, and a subnet inside another: told by every report of an estate."""

from pathlib import Path
from typing import Any

import orjson
import pytest
from typer.testing import CliRunner

from auditor.cli.main import app

COMPLIANT = Path("fixtures/cards/compliant.json")


@pytest.fixture
def estate(tmp_path: Path) -> Path:
    """Write three cards: two with one address in one site, one whose mask is too wide."""
    for number, address in enumerate(("10.20.30.11", "10.20.30.11", "10.20.44.9")):
        card: dict[str, Any] = orjson.loads(COMPLIANT.read_bytes())
        card["card"]["id"] = f"north@{number}"
        ipv4 = card["network"]["interfaces"][0]["ipv4"]
        ipv4.update(address=address, prefix_length=16 if number == 2 else 24)
        card["network"]["interfaces"][0]["ipv6"] = {
            "enabled": False,
            "autoconfiguration": False,
            "dhcp": False,
        }
        (tmp_path / f"{number}.json").write_bytes(orjson.dumps(card))
    return tmp_path


def told(estate: Path, form: str) -> str:
    """Return the report of an estate in one format."""
    call = ["audit", str(estate), "--format", form, "--as-of", "2026-11-25T12:00:00+00:00"]
    return CliRunner().invoke(app, call).stdout


@pytest.mark.parametrize("form", ["table", "markdown", "html"])
def test_a_report_names_the_address_and_the_subnet(estate: Path, form: str) -> None:
    """Both clashes stand under their title, with the cards; a forge makes no mentions of ids."""
    report = told(estate, form)
    assert "Addresses that do not go together" in report
    assert "10.20.30.11" in report
    assert "10.20.30.0/24 in 10.20.0.0/16" in report
    assert ("`north@0`, `north@1`" if form == "markdown" else "north@0, north@1") in report


def test_the_document_holds_the_clashes_for_programs(estate: Path) -> None:
    """Addresses, sites, subnets and cards stand apart, with the counts of all."""
    addresses = orjson.loads(told(estate, "json"))["summary"]["addresses"]
    assert addresses == {
        "shared": [
            {"address": "10.20.30.11", "one_site": True, "cards": 2, "card_ids": ["north@0", "north@1"]}
        ],
        "overlaps": [{"wide": "10.20.0.0/16", "narrow": "10.20.30.0/24", "cards": ["north@2", "north@0"]}],
        "shared_count": 1,
        "overlap_count": 1,
    }
