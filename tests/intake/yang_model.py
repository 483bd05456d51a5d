"""The IETF models as an outside library reads them: yangson, over the modules that pyang ships."""

import json
import re
import sys
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any, Final
from unittest import mock
from xml.etree import ElementTree as ET

from yangson import DataModel, schemadata  # type: ignore[import-untyped]  # has no types
from yangson.enumerations import ContentType  # type: ignore[import-untyped]  # has no types

MODULES: Final = Path(sys.prefix) / "share" / "yang" / "modules"
"""Where pyang's distribution puts the modules of IETF and IANA."""

_NETCONF: Final = "urn:ietf:params:xml:ns:netconf:base:1.0"
_SNMP_PARTS: Final = (
    "common", "engine", "target", "proxy", "community", "notification", "usm", "tsm", "vacm", "tls", "ssh"
)  # fmt: skip
_IMPLEMENTED: Final[Mapping[str, tuple[str, ...]]] = {
    "ietf-system": (
        "ntp", "ntp-udp-port", "timezone-name", "dns-udp-tcp-port", "radius", "authentication", "local-users"
    ),
    "iana-crypt-hash": ("crypt-hash-md5", "crypt-hash-sha-256", "crypt-hash-sha-512"),
    "ietf-snmp": ("proxy", "notification-filter", "tsm", "tlstm", "sshtm"),
    "ietf-interfaces": ("if-mib",),
    "ietf-ip": ("ipv4-non-contiguous-netmasks",),
    "iana-if-type": (),
}  # fmt: skip
_IMPORTED: Final = ("ietf-inet-types", "ietf-yang-types", "ietf-netconf-acm", "ietf-x509-cert-to-name")


class _InOrder(set[Any]):
    """A set of submodules that is walked through in the order of ``_SNMP_PARTS``."""

    def __iter__(self) -> Iterator[Any]:
        """Walk through in that order."""
        return iter(
            sorted(super().__iter__(), key=lambda item: _SNMP_PARTS.index(item[0].removeprefix("ietf-snmp-")))
        )


class _OrderedModuleData(schemadata.ModuleData):  # type: ignore[misc]  # has no types
    """Module data whose submodules are processed in an order that serves.

    The library's plain set augments ``target-params`` before it is there whenever the hashes
    of a run fall so, and then refuses v1, v2c or usm below it.
    """

    def __init__(self, main_module: object, yang_id: object) -> None:
        super().__init__(main_module, yang_id)
        self.submodules = _InOrder()


@cache
def data_model() -> DataModel:
    """Return the data model of all modules that the import reads."""
    modules = [
        *(_entry(name, "implement", features) for name, features in _IMPLEMENTED.items()),
        *(_entry(name, "import", ()) for name in _IMPORTED),
    ]
    library = {"ietf-yang-library:modules-state": {"module-set-id": "tests", "module": modules}}
    with mock.patch.object(schemadata, "ModuleData", _OrderedModuleData):
        return DataModel(json.dumps(library), (str(MODULES / "ietf"), str(MODULES / "iana")))


def _entry(name: str, conformance: str, features: Iterable[str]) -> dict[str, object]:
    path = next(MODULES.glob(f"*/{name}.yang"))
    text = path.read_text(encoding="utf-8")
    parts = [f"{name}-{part}" for part in _SNMP_PARTS] if name == "ietf-snmp" else []
    return {
        "name": name,
        "revision": _first(r'\brevision\s+"?([0-9-]{10})', text),
        "namespace": _first(r'\bnamespace\s+"([^"]+)"', text),
        "conformance-type": conformance,
        "feature": list(features),
        "submodule": [{"name": part, "revision": "2014-12-10"} for part in parts],
    }


def _first(pattern: str, text: str) -> str:
    found = re.search(pattern, text)
    assert found is not None, pattern
    return found[1]


def check(instance: Mapping[str, object], *, state: bool = False) -> None:
    """Validate an instance of RFC 7951 against the models, with or without what state must tell.

    Raises:
        yangson.exceptions.YangsonException: if it is not valid.
    """
    whole = ContentType.all if state else ContentType.config
    data_model().from_raw(instance).validate(ctype=whole)


def as_xml(instance: Mapping[str, object]) -> str:
    """Return the XML form of an instance of RFC 7951, as yangson converts it."""
    root = data_model().from_raw(instance).to_xml(tag="data", urn=_NETCONF)
    return ET.tostring(root, encoding="unicode")
