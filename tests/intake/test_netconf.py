"""NETCONF and RESTCONF data: what is recognised, what is refused, and what it may cost."""

import json
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.errors import Fault, InputError
from auditor.intake.ietf import interfaces, snmp, system
from auditor.intake.ietf.data_tree import MOST_VALUES
from auditor.intake.netconf import looks_like_netconf, read_netconf
from tests.intake.bound import bounded

FOLDER = Path(__file__).parents[2] / "fixtures" / "imports" / "netconf"
MEBIBYTE = 1024 * 1024
SYSTEM = 'xmlns="urn:ietf:params:xml:ns:yang:ietf-system"'
BASE = 'xmlns="urn:ietf:params:xml:ns:netconf:base:1.0"'
PREFIXED = BASE.replace("xmlns", "xmlns:nc")
NAMED = f"<system {SYSTEM}><hostname>card</hostname></system>"


def faults_of(text: bytes, file: str = "export.xml") -> tuple[Fault, ...]:
    """Return the faults of a source that is refused."""
    with pytest.raises(InputError) as caught:
        read_netconf(text, file)
    return caught.value.faults


def fault_of(text: bytes) -> Fault:
    """Return the only fault of a source that is refused."""
    [fault] = faults_of(text)
    assert fault.file == "export.xml"
    assert fault.remedy
    return fault


@pytest.mark.parametrize("path", sorted(FOLDER.iterdir()), ids=lambda path: str(path.name))
def test_instances_are_recognised_by_their_start(path: Path) -> None:
    """One kilobyte is enough; the name of the file plays no part."""
    assert looks_like_netconf(path.read_bytes()[:1024])


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"<export><hostname>card</hostname></export>",
        b'{"schema": "witnessmark/card-1"}',
        b'{"@odata.id": "/redfish/v1"}',
        b'title = "urn:ietf:params:xml:ns:yang:ietf-system"',
        b"Hostname : card\n",
    ],
)
def test_other_sources_are_not_taken_for_instances(text: bytes) -> None:
    """Neither another XML or JSON, nor text that only names a namespace."""
    assert not looks_like_netconf(text)


@pytest.mark.parametrize(
    "text",
    [
        NAMED,
        f"<config {BASE}>{NAMED}</config>",
        f"<config>{NAMED}</config>",
        f"<data {BASE}>{NAMED}</data>",
        f'<rpc-reply {BASE} message-id="1"><data>{NAMED}</data></rpc-reply>',
        f"<nc:rpc-reply {PREFIXED}><nc:data>{NAMED}</nc:data></nc:rpc-reply>",
        f'<data xmlns="urn:ietf:params:xml:ns:yang:ietf-restconf">{NAMED}</data>',
        f'<?xml version="1.0" encoding="UTF-8"?>\n<!-- a card -->\n{NAMED}',
        '{"ietf-system:system": {"hostname": "card"}}',
        '{"ietf-restconf:data": {"ietf-system:system": {"hostname": "card"}}}',
        '{"ietf-system:system": {"ietf-system:hostname": "card"}}',
        '\ufeff {"ietf-system:system": {"hostname": "card"}}',
    ],
)
def test_every_envelope_gives_the_same_settings(text: str) -> None:
    """A reply, a configuration, a bare tree, and what RESTCONF puts around; one card each."""
    [found] = read_netconf(text.encode(), "folder/card-7.export.xml")
    assert found.settings == {"network": {"hostname": "card"}}
    assert (found.card_id, found.method, found.unmapped) == ("card-7", "netconf", ())


def test_utf_16_is_read_and_recognised() -> None:
    """A document may be in UTF-16 if a byte order mark says so."""
    text = NAMED.encode("utf-16")
    assert looks_like_netconf(text)
    assert read_netconf(text, "card.xml")[0].settings == {"network": {"hostname": "card"}}


def test_origins_name_line_and_place() -> None:
    """In XML a path of elements, siblings counted from 1; in JSON a pointer."""
    order = "<user-authentication-order>{}</user-authentication-order>"
    users = "<user><name>a</name></user>\n<user><name>b</name></user>"
    text = (
        f"<system {SYSTEM}>\n<authentication>{order.format('local-users')}\n{users}</authentication></system>"
    )
    [xml] = read_netconf(text.encode(), "card.xml")
    assert str(xml.origins["/accounts/1/name"]) == "card.xml:4 (/system/authentication/user[2]/name)"
    text = '{"ietf-system:system": {"authentication": {"user": [\n{"name": "a"},\n{"name": "b"}]}}}'
    [other] = read_netconf(text.encode(), "card.json")
    assert str(other.origins["/accounts/1/name"]) == (
        "card.json:3 (/ietf-system:system/authentication/user/1/name)"
    )


def test_what_an_edit_removes_is_not_imported() -> None:
    """RFC 6241 section 7.2: such a node is to go, so it is no setting of the card."""
    user = '<user nc:operation="{}"><name>{}</name></user>'
    users = user.format("delete", "a") + user.format("remove", "b") + user.format("merge", "c")
    text = f"<system {SYSTEM} {PREFIXED}><authentication>{users}</authentication></system>"
    [found] = read_netconf(text.encode(), "card.xml")
    assert found.settings == {"accounts": [{"name": "c"}]}
    assert [str(lost.origin) for lost in found.lost] == [
        "card.xml:1 (/system/authentication/user[1])",
        "card.xml:1 (/system/authentication/user[2])",
    ]


def test_what_no_reader_takes_is_named_and_no_more() -> None:
    """Of an unknown module or subtree only the root is named; no value is kept."""
    instance = {
        "ietf-system:system": {"hostname": "card", "clock": {"colour": "secret-1"}},
        "ietf-netconf-acm:nacm": {"groups": {"group": [{"name": "secret-2"}]}},
        "acme:display": {"brightness": "secret-3"},
    }
    [found] = read_netconf(json.dumps(instance).encode(), "card.json")
    assert found.unmapped == ("ietf-system:system/clock/colour", "ietf-netconf-acm:nacm", "acme:display")
    assert "secret" not in repr(found)
    xml = (
        f'<data>{NAMED}<nacm xmlns="urn:ietf:params:xml:ns:yang:ietf-netconf-acm"/><d xmlns="urn:x"/></data>'
    )
    assert read_netconf(xml.encode(), "card.xml")[0].unmapped == ("ietf-netconf-acm:nacm", "urn:x:d")


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (f"<rpc-reply {BASE}><ok/></rpc-reply>", "holds no data of the models that are read here"),
        ("<system><hostname>card</hostname></system>", "holds no data of the models that are read here"),
        ('{"system": {"hostname": "card"}}', "holds no data of the models that are read here"),
        ("{}", "holds no data of the models that are read here"),
        (
            f"<rpc-reply {BASE}><rpc-error><error-tag>access-denied</error-tag></rpc-error></rpc-reply>",
            "the reply tells of an error and not of settings",
        ),
        ('{"ietf-restconf:errors": {"error": []}}', "the reply tells of errors and not of settings"),
        ("[]", "expected an object"),
        ("", "empty"),
    ],
)
def test_a_source_without_settings_is_refused(text: str, problem: str) -> None:
    """Nothing is imported in silence from what holds nothing."""
    assert fault_of(text.encode()).problem == problem


def doc(inner: bytes) -> bytes:
    """Return an instance in XML with something in it."""
    return b"<system " + SYSTEM.encode() + b"><contact>" + inner + b"</contact></system>"


def obj(inner: bytes) -> bytes:
    """Return an instance in JSON with something in it."""
    return b'{"ietf-system:system": {"contact": ' + inner + b"}}"


HOSTILE: dict[str, Callable[[], bytes]] = {
    "doctype": lambda: b"<!DOCTYPE a>" + doc(b""),
    "internal entity": lambda: b'<!DOCTYPE a [<!ENTITY e "x">]>' + doc(b"&e;"),
    "external entity": lambda: b'<!DOCTYPE a [<!ENTITY e SYSTEM "file:///etc/hostname">]>' + doc(b"&e;"),
    "nested entities": lambda: (
        b"<!DOCTYPE a ["
        + b"".join(b'<!ENTITY e%d "%s">' % (n, b"&e%d;" % (n - 1) * 10 if n else b"x") for n in range(12))
        + b"]>"
        + doc(b"&e11;")
    ),
    "XML: huge text": lambda: doc(b"x" * (15 * MEBIBYTE)),
    "XML: huge": lambda: doc(b"x" * (17 * MEBIBYTE)),
    "XML: deep": lambda: doc(b"<a>" * 500_000),
    "XML: many": lambda: doc(b"<a/>" * 1_000_000),
    "XML: wrong encoding": lambda: doc(b"Gr\xfcn"),
    "XML: another encoding": lambda: b"<?xml version='1.0' encoding='utf-16'?>" + doc(b""),
    "XML: NUL": lambda: doc(b"a\0b"),
    "XML: truncated": lambda: doc(b"power team")[:-12],
    "JSON: huge": lambda: obj(b'"' + b"x" * (17 * MEBIBYTE) + b'"'),
    "JSON: deep": lambda: obj(b"[" * 50_000 + b"]" * 50_000),
    "JSON: deeper": lambda: obj(b"[" * 4_000_000),
    "JSON: many": lambda: obj(b"[" + b"1," * 1_000_000 + b"1]"),
    "JSON: wrong encoding": lambda: obj(b'"Gr\xfcn"'),
    "JSON: UTF-16": lambda: obj(b'"a"').decode().encode("utf-16"),
    "JSON: NUL": lambda: obj(b'"a\0b"'),
    "JSON: truncated": lambda: obj(b'"power team"')[:-3],
    "JSON: doubled": lambda: obj(b'"a", "contact": "b"'),
    "JSON: number": lambda: obj(b"1e999"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_bad_source_is_one_clear_fault_at_a_bounded_cost(name: str) -> None:
    """Each of the issue's bad inputs: refused, with the file named, in bounded time and memory."""
    text = HOSTILE[name]()
    with bounded(seconds=30, mebibytes=200):
        fault = fault_of(text)
    assert "power team" not in str(fault)


def many(kind: str) -> bytes:
    """Return a valid instance of a quarter of what is read, costly in one way."""
    count = MOST_VALUES // 20
    sees = [{"index": str(n), "security-name": "s", "context": str(n)} for n in range(count)]
    rows = [
        {"context": str(n), "security-model": "any", "security-level": "auth-priv"} for n in range(count // 2)
    ]
    group = {"name": "g", "member": [{"security-name": "s", "security-model": ["v2c"]}], "access": rows}
    target = {"udp": {"ip": "192.0.2.1"}, "tag": ["a"]}
    members = {
        "communities": {"community": sees},
        "rows": {"community": sees[: count // 2], "vacm": {"group": [group]}},
        "receivers": {
            "target": [{"name": str(n), **target} for n in range(count // 2)],
            "notify": [{"name": str(n), "tag": "a"} for n in range(count // 2)],
        },
    }
    return json.dumps({"ietf-snmp:snmp": members[kind]}).encode()


@pytest.mark.parametrize("kind", ["communities", "rows", "receivers"])
def test_a_large_instance_is_read_at_a_bounded_cost(kind: str) -> None:
    """Nothing is compared each with each: the cost grows with the source, not with its square."""
    text = many(kind)
    with bounded(seconds=30, mebibytes=100):
        [found] = read_netconf(text, "card.json")
    assert found.origins


def test_no_secret_is_in_what_can_be_printed() -> None:
    """Neither nodes nor losses repeat a value: all secrets of an instance stay in its settings."""
    secret = "hush-hush-1"  # noqa: S105 - a secret of the test
    users = [{"name": "a", "password": secret}, {"name": "b", "password": secret}]
    keys = [{"name": "u", "auth": {"md5": {"key": secret}}}]
    instance = {
        "ietf-system:system": {"authentication": {"user": users}},
        "ietf-snmp:snmp": {"usm": {"local": {"user": keys}}, "community": [{"binary-name": secret}]},
    }
    [found] = read_netconf(json.dumps(instance).encode(), "card.json")
    assert len(found.lost) == 3
    assert secret not in repr(found)


PIECES = st.sampled_from(
    (*'<>/"{}[]:, ', "system", SYSTEM, "data", BASE, "hostname", "a", "null", "1", "true", '"ntp"')
)


@given(st.lists(PIECES, max_size=30).map("".join))
def test_any_text_is_read_or_refused(text: str) -> None:
    """No input gives anything but an import or a fault of the source."""
    with suppress(InputError):
        assert len(read_netconf(text.encode(), "card.xml")) == 1


NAMES = sorted({name for path in system.MAPPED | snmp.MAPPED | interfaces.MAPPED for name in path.split("/")})
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(NAMES), inner, max_size=6),
    max_leaves=20,
)
TOPS = st.sampled_from(["ietf-system:system", "ietf-snmp:snmp", "ietf-interfaces:interfaces"])


@given(st.dictionaries(TOPS, VALUES, min_size=1))
def test_any_shape_is_read_or_refused(instance: object) -> None:
    """A tree that no model allows is still read for what it holds, without an exception."""
    with suppress(InputError):
        assert read_netconf(json.dumps(instance).encode(), "card.json")[0].card_id == "card"
