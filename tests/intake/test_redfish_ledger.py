"""Two captures against their hand-written ledger: a published sample, and one of our own."""

import hashlib
import re
import tomllib
from base64 import b64decode
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from auditor import load_program
from auditor.facts.fact import Context
from auditor.facts.words import well_known_words
from auditor.intake.imported import Imported
from auditor.intake.redfish import looks_like_redfish, read_redfish
from auditor.rules.result import Outcome
from auditor.scoring.assessment import CardAssessment, assess
from tests.intake.redfish_service import FIXTURES, ROOT, flat, packed, record_of, shuffled

AS_OF = datetime(2026, 11, 25, 12, tzinfo=UTC)
LEDGER: Mapping[str, Any] = tomllib.loads((FIXTURES / "ledger.toml").read_text("utf-8"))
PUBLISHED = ROOT.parent / "shared/samples/redfish-rack-server"
CERTIFICATE = "/tls/certificate"

captures = pytest.mark.parametrize("name", sorted(LEDGER))


@cache
def card_of(name: str) -> Imported:
    """Import a capture once."""
    [card] = read_redfish(str(FIXTURES / name))
    return card


@cache
def assessment_of(name: str) -> CardAssessment:
    """Audit a capture once, with all that is shipped."""
    return assess(record_of(card_of(name)), load_program(), Context(AS_OF, well_known_words()))


def findings(name: str, outcome: Outcome) -> set[tuple[str, str]]:
    """Return rule and place of the findings of one outcome."""
    found = assessment_of(name).findings
    return {(one.rule.id, one.pointer) for one in found if one.outcome is outcome}


@captures
def test_every_expected_setting_is_imported_and_nothing_else(name: str) -> None:
    """The settings are exactly those of the ledger; a PEM is checked by itself."""
    found = flat(card_of(name))
    if "certificate" in LEDGER[name]:
        assert set(found.pop(CERTIFICATE)) == {"pem"}
    assert found == LEDGER[name]["settings"]


@captures
def test_the_card_is_called_as_the_service_calls_it(name: str) -> None:
    """The host name of the manager is the id of the card."""
    assert card_of(name).card_id == LEDGER[name]["card_id"]
    assert card_of(name).method == "redfish"


@captures
def test_exactly_what_could_not_be_placed_is_told(name: str) -> None:
    """Each property that was lost is named with its file, and no other is."""
    prefix = f"{FIXTURES / name}/"
    lost = sorted((one.origin.file.removeprefix(prefix), one.origin.at) for one in card_of(name).lost)
    assert lost == sorted((row["file"], row["at"]) for row in LEDGER[name]["lost"])


@captures
def test_what_has_no_place_is_told_by_name(name: str) -> None:
    """The names in the ledger are among the unmapped ones, and what was mapped is not."""
    unmapped = set(card_of(name).unmapped)
    assert set(LEDGER[name]["unmapped"]["among"]) <= unmapped
    assert {
        "ManagerNetworkProtocol/HTTP",
        "Manager/FirmwareVersion",
        "AccountService/Accounts",
    } & unmapped == set()


@captures
def test_the_audit_fails_exactly_what_the_ledger_says(name: str) -> None:
    """Each defect of the capture gives its finding at its place; no other rule fails."""
    expected = {(row["rule"], row["at"]) for row in LEDGER[name]["fails"]}
    assert findings(name, Outcome.FAIL) == expected


@captures
def test_the_audit_asks_exactly_for_what_the_ledger_says(name: str) -> None:
    """What a Redfish service can't tell, and matters, is asked for; no secret counts as good."""
    expected = {(rule, at) for rule, places in LEDGER[name]["unknowns"].items() for at in places}
    assert findings(name, Outcome.UNKNOWN) == expected


@captures
def test_every_setting_and_every_loss_has_its_line(name: str) -> None:
    """An origin leads to the file and the line on which the property stands."""
    card = card_of(name)
    for origin in [*card.origins.values(), *(lost.origin for lost in card.lost)]:
        line = Path(origin.file).read_text("utf-8").splitlines()[origin.line - 1]
        named = origin.at.rpartition("/")[2]
        assert not named or named.isdecimal() or f'"{named}"' in line


@captures
def test_every_leaf_has_an_origin(name: str) -> None:
    """Nothing stands in the settings that no property of the source accounts for."""
    card = card_of(name)

    def leaves(node: Any, at: str) -> list[str]:
        if at in card.origins:
            return []
        inner = (
            node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else None
        )
        return (
            [at] if inner is None else [leaf for key, child in inner for leaf in leaves(child, f"{at}/{key}")]
        )

    assert leaves(card.settings, "") == []


@captures
def test_folder_zip_and_tar_give_the_same_card_in_any_order(name: str, tmp_path: Path) -> None:
    """Neither the way a capture is packed, nor its layout, nor the order of its files matters."""
    card = card_of(name)
    zipped, tarred = packed(FIXTURES / name, tmp_path)
    for path in (zipped, tarred, shuffled(FIXTURES / name, tmp_path / "flat")):
        assert looks_like_redfish(str(path))
        [other] = read_redfish(str(path))
        assert (other.settings, other.card_id) == (card.settings, card.card_id)
        assert sorted(other.unmapped) == sorted(card.unmapped)
        assert [(one.origin.at, one.origin.line) for one in other.lost] == [
            (one.origin.at, one.origin.line) for one in card.lost
        ]


def test_the_certificate_is_the_pem_and_not_what_is_said_of_it() -> None:
    """The PEM's own SHA-1 is the one computed from it; the JSON member beside it says another.

    Source: the fingerprint in the ledger, computed from the published PEM with another tool.
    """
    pem = card_of("sample").settings["tls"]["certificate"]["pem"]
    inner = re.sub(r"-----[A-Z ]+-----|\s", "", pem)
    digest = hashlib.sha1(b64decode(inner), usedforsecurity=False).hexdigest().upper()
    assert digest.startswith(LEDGER["sample"]["certificate"]["sha1"].replace(":", ""))


def test_the_part_that_is_kept_here_gives_the_same_card_as_the_whole_sample() -> None:
    """Leaving the server's own resources out of the fixture loses no setting of its manager."""
    if not PUBLISHED.is_dir():
        pytest.skip("the whole published sample lies outside the repository, and is not there")
    [whole] = read_redfish(str(PUBLISHED))
    part = card_of("sample")
    assert (whole.settings, whole.unmapped, whole.card_id) == (part.settings, part.unmapped, part.card_id)
