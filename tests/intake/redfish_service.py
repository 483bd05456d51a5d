"""Redfish captures for tests: resources written to a folder, and what an import makes of them."""

import shutil
import tarfile
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import orjson

from auditor.intake.imported import Imported
from auditor.intake.redfish import read_redfish
from auditor.record.pointer import split
from auditor.record.reading import Record, read_record

ROOT = Path(__file__).parents[2]
FIXTURES = ROOT / "fixtures/imports/redfish"
SERVICE = "/redfish/v1"
MANAGER = f"{SERVICE}/Managers/card"
ACCOUNTS = f"{SERVICE}/AccountService"
EVENTS = f"{SERVICE}/EventService"


def resource(name: str, kind: str, **body: Any) -> dict[str, Any]:
    """Return one resource as a service gives it."""
    return {"@odata.id": name, "@odata.type": f"#{kind}.v1_0_0.{kind}", "Id": name.rpartition("/")[2], **body}


def protocols(**body: Any) -> dict[str, Any]:
    """Return the network protocols of the manager."""
    return resource(f"{MANAGER}/NetworkProtocol", "ManagerNetworkProtocol", **body)


def account(number: int, **body: Any) -> dict[str, Any]:
    """Return one account."""
    return resource(f"{ACCOUNTS}/Accounts/{number}", "ManagerAccount", **body)


def destination(number: int, **body: Any) -> dict[str, Any]:
    """Return one destination of events."""
    return resource(f"{EVENTS}/Subscriptions/{number}", "EventDestination", **body)


def written(folder: Path, *resources: Mapping[str, Any]) -> Path:
    """Write resources below a folder, a file each."""
    target = folder / "capture"
    target.mkdir(exist_ok=True)
    for number, body in enumerate(resources):
        (target / f"{number}.json").write_bytes(orjson.dumps(body, option=orjson.OPT_INDENT_2))
    return target


def imported(folder: Path, *resources: Mapping[str, Any]) -> Imported:
    """Import resources that make one card, and prove that the record is a valid one."""
    [card] = read_redfish(str(written(folder, *resources)))
    record_of(card)
    return card


def record_of(card: Imported) -> Record:
    """Return the record that an import gives, validated."""
    settings = {**card.settings, "schema": "witnessmark/card-1"}
    settings["card"] = {**card.settings.get("card", {}), "id": card.card_id}
    return read_record(orjson.dumps(settings), card.file)


def flat(card: Imported) -> dict[str, Any]:
    """Return the settings of an import by pointer, one for each origin."""
    return {pointer: value_at(card.settings, pointer) for pointer in card.origins}


def value_at(node: Any, pointer: str) -> Any:
    """Return the value at a pointer."""
    for token in split(pointer):
        node = node[int(token)] if isinstance(node, list) else node[token]
    return node


def losses(card: Imported) -> set[str]:
    """Return the places of what was lost."""
    return {lost.origin.at for lost in card.lost}


def packed(folder: Path, target: Path) -> tuple[Path, Path]:
    """Pack a folder as a zip and as a tar.gz."""
    zipped = target / "capture.zip"
    with zipfile.ZipFile(zipped, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(folder.rglob("*"), reverse=True):
            archive.write(path, path.relative_to(folder))
    tarred = target / "capture.tar.gz"
    with tarfile.open(tarred, "w:gz") as archive:
        archive.add(folder, ".")
    return zipped, tarred


def shuffled(folder: Path, target: Path) -> Path:
    """Copy the files of a folder into one flat folder, their names in the reverse order."""
    target.mkdir()
    files = sorted(path for path in folder.rglob("*.json"))
    for number, path in enumerate(reversed(files)):
        shutil.copy(path, target / f"{number:03}.json")
    return target
