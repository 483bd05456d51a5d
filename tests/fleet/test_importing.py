"""From sources to records: recognition, merging, and faults that name their source."""

import io
import json
from pathlib import Path
from typing import Any

import pytest

from auditor.errors import InputError, RecordError
from auditor.fleet.any_source import read_any
from auditor.fleet.importing import ImportChoices, ImportedRecord, import_records
from auditor.intake.recognise import SourceFormat, recognise
from auditor.record.reading import Record
from tests.rules.matrix import ROOT

COMPLIANT = ROOT / "fixtures/cards/compliant.json"
IMPORTS = ROOT / "fixtures/imports"


def imported(*paths: object, **choices: Any) -> list[ImportedRecord | InputError]:
    """Import some paths."""
    return list(import_records([str(path) for path in paths], ImportChoices(**choices)))


def sheet(folder: Path, text: str, name: str = "cards.csv") -> Path:
    """Write a sheet."""
    path = folder / name
    path.write_text(text, "utf-8")
    return path


@pytest.mark.parametrize(
    ("path", "form"),
    [
        (COMPLIANT, SourceFormat.RECORDS),
        (ROOT / "fixtures/estate", SourceFormat.RECORDS),
        (IMPORTS / "netconf/ups-room-1.xml", SourceFormat.NETCONF),
        (IMPORTS / "netconf/ups-room-1.json", SourceFormat.NETCONF),
        (IMPORTS / "redfish/invented", SourceFormat.REDFISH),
        (ROOT / "no-such-file.json", SourceFormat.RECORDS),
    ],
)
def test_a_source_is_recognised_by_its_content(path: Path, form: SourceFormat) -> None:
    """Each kind of source is told from the others; a missing file is left to its reader."""
    assert recognise(str(path)) is form


def test_a_sheet_and_a_worksheet_are_told_apart(tmp_path: Path) -> None:
    """Both are CSV; the worksheet has a column of pointers."""
    assert recognise(str(sheet(tmp_path, "card.id,card.site\nx,North\n"))) is SourceFormat.SHEET
    assert recognise(str(sheet(tmp_path, "pointer,answer\n/card/site,North\n"))) is SourceFormat.WORKSHEET


def test_an_export_and_a_sheet_of_one_card_become_one_record(tmp_path: Path) -> None:
    """What the card told stands, what the sheet adds is taken, and where both differ is told."""
    path = sheet(tmp_path, "card.id,card.site,snmp.port\nups-room-1,North,1161\n")
    (one,) = imported(IMPORTS / "netconf/ups-room-1.xml", path)
    assert isinstance(one, ImportedRecord)
    assert one.record.settings["card"]["site"] == "North"
    assert [c.pointer for c in one.merged.contradictions] == ["/snmp/port", "/capture"]
    assert one.record.settings["snmp"]["port"] == 161


def test_a_record_is_a_source_too(tmp_path: Path) -> None:
    """A record can be completed by a sheet."""
    settings = json.loads(COMPLIANT.read_text("utf-8"))
    del settings["card"]["contact"]
    record = tmp_path / "card.json"
    record.write_text(json.dumps(settings), "utf-8")
    path = sheet(tmp_path, "card.id,card.contact\nnorth-a-ups-01,power team\n")
    (one,) = imported(record, path)
    assert isinstance(one, ImportedRecord)
    assert one.record.settings["card"]["contact"] == "power team"


def test_a_bad_source_costs_only_itself(tmp_path: Path) -> None:
    """The truncated export is an error; the sheet beside it is imported."""
    broken = tmp_path / "broken.xml"
    broken.write_bytes((IMPORTS / "netconf/ups-room-1.xml").read_bytes()[:900])
    path = sheet(tmp_path, "card.id,card.site\nx,North\n")
    found = imported(broken, path)
    assert [isinstance(one, ImportedRecord) for one in found] == [True, False]
    assert "broken.xml" in str(found[1])


def test_a_bad_source_in_a_folder_costs_only_itself_too(tmp_path: Path) -> None:
    """At any depth; the others of the folder become records."""
    inner = tmp_path / "room"
    inner.mkdir()
    (tmp_path / "bad.json").write_text("{", "utf-8")
    (inner / "good.json").write_bytes(COMPLIANT.read_bytes())
    record, error = imported(tmp_path)
    assert isinstance(record, ImportedRecord)
    assert isinstance(error, InputError)
    assert [fault.file for fault in error.faults] == [str(tmp_path / "bad.json")]


def test_an_export_of_an_unknown_form_asks_for_its_map() -> None:
    """What is XML is not told how to write JSON."""
    (error,) = imported(IMPORTS / "maps/card-family-a/wvl-ups-store.xml")
    assert isinstance(error, InputError)
    (fault,) = error.faults
    assert fault.problem == "XML of a form that is not known, where a record is due"
    assert "--map FILE" in fault.remedy


def test_the_digest_of_the_source_goes_along(tmp_path: Path) -> None:
    """Who doubts a record can find the very file that it came from."""
    (one,) = imported(sheet(tmp_path, "card.id,card.site\nx,North\n"), taken_at="2026-11-20T09:30:00Z")
    assert isinstance(one, ImportedRecord)
    capture = one.record.settings["capture"]
    assert capture["source_digest"].startswith("sha256:")
    assert (capture["method"], capture["taken_at"]) == ("sheet", "2026-11-20T09:30:00Z")


def test_any_source_can_be_audited_beside_records(tmp_path: Path) -> None:
    """Records come as they are, other sources are imported on the way."""
    path = sheet(tmp_path, "card.id,card.site\nx,North\n")
    found = list(read_any([str(COMPLIANT), str(path)], io.BytesIO(), ImportChoices()))
    assert [one.card_id for one in found if isinstance(one, Record)] == ["north-a-ups-01", "x"]


def test_a_card_that_is_record_and_source_is_told(tmp_path: Path) -> None:
    """The same card as a record and as a sheet is an error that names both."""
    path = sheet(tmp_path, "card.id,card.site\nnorth-a-ups-01,North\n")
    found = list(read_any([str(COMPLIANT), str(path)], io.BytesIO(), ImportChoices()))
    assert isinstance(found[1], RecordError)
    assert "compliant.json" in str(found[1])


def test_a_chosen_format_is_not_doubted() -> None:
    """With a format chosen, a record is read as that format, and fails as that."""
    (found,) = imported(COMPLIANT, form=SourceFormat.NETCONF)
    assert isinstance(found, InputError)


def test_a_card_id_is_given_to_a_source_without_one() -> None:
    """--card-id names what an export does not name."""
    (one,) = imported(IMPORTS / "netconf/ups-room-1.xml", card_id="south-b")
    assert isinstance(one, ImportedRecord)
    assert one.record.card_id == "south-b"
