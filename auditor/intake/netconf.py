"""NETCONF and RESTCONF data of the IETF models → what an import gives.

Finds out the form and hands over; the models are read in ``ietf``.
"""

import re

from auditor.errors import Fault, InputError
from auditor.intake.draft import Draft
from auditor.intake.ietf import interfaces, snmp, system
from auditor.intake.ietf.data_tree import MODULES, Tree, unmapped_names
from auditor.intake.ietf.json_form import read_json
from auditor.intake.ietf.taker import Taker
from auditor.intake.ietf.xml_form import read_xml
from auditor.intake.imported import Imported, id_from_name

METHOD = "netconf"
"""The word of ``/capture/method`` for what comes in this way."""

_MAPPED = system.MAPPED | snmp.MAPPED | interfaces.MAPPED
_TOPS = frozenset(path.partition("/")[0] for path in _MAPPED)
_MARKS = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")
_NAMES = re.compile(
    "|".join(
        [
            *(f"[\"']{re.escape(namespace)}[\"']" for namespace in MODULES),
            *(f'"{re.escape(top)}"' for top in _TOPS),
        ]
    ).encode()
)


def read_netconf(text: bytes, file: str) -> tuple[Imported, ...]:
    """Return the settings that one instance tells of one card, the only item.

    Takes an ``rpc-reply``, a ``config`` or a bare data tree in XML, or the JSON of RFC 7951:
    ietf-system, ietf-snmp, ietf-interfaces and ietf-ip. What other modules tell is unmapped.

    Raises:
        InputError: if the text is no such instance; see ``read_xml`` and ``read_json``.
    """
    tree = read_json(text, file) if _is_json(text) else read_xml(text, file)
    if not any(node.name in _TOPS for node in tree.top.children):
        problem = "holds no data of the models that are read here"
        remedy = f"Export one of {', '.join(sorted(_TOPS))}."
        raise InputError([Fault(file, "", 0, 0, problem, remedy)])
    return (_imported(tree, file),)


def looks_like_netconf(start: bytes) -> bool:
    """Tell by the first kilobytes of a source whether ``read_netconf`` is meant for it."""
    plain = start.replace(b"\0", b"")  # UTF-16 becomes readable enough
    return _first(plain) in (b"<", b"{") and _NAMES.search(plain) is not None


def _is_json(text: bytes) -> bool:
    return _first(text.replace(b"\0", b"")) in (b"{", b"[", b'"')


def _first(text: bytes) -> bytes:
    for mark in _MARKS:
        text = text.removeprefix(mark)
    return text.lstrip()[:1]


def _imported(tree: Tree, file: str) -> Imported:
    draft = Draft(file, METHOD)
    taker = Taker(draft, fills=not tree.operational)
    system.take_system(tree.top, taker)
    snmp.take_snmp(tree.top, taker)
    interfaces.take_interfaces(tree.top, taker)
    for origin in tree.removed:
        draft.lose(origin, "marked for removal by an edit, so the card has it no longer")
    for name in unmapped_names(tree.top, _MAPPED):
        draft.unmapped(name)
    return draft.done(id_from_name(file))
