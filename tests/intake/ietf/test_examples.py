"""The example configurations of the RFCs themselves, and two of an invented card.

The values are those of the RFCs; the layout, the JSON forms and what is in no RFC are ours.
RFC 7407 A.5 (a proxy) is not among them: a record has no place for proxies.
"""

import hashlib
import json

import pytest

from auditor.intake.ietf import interfaces, snmp, system
from tests.intake.ietf.told import FOLDER, from_file, whys
from tests.intake.yang_model import check, data_model

INSTANCES = sorted(path.stem for path in FOLDER.glob("*.json"))


@pytest.mark.parametrize("name", INSTANCES)
def test_the_instances_are_valid(name: str) -> None:
    """An outside library holds each against the modules as published; state too, where there is state."""
    instance = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    check(instance, state=name in ("rfc8344-b", "ups-room-1-state"))


@pytest.mark.parametrize("name", INSTANCES)
def test_both_forms_import_to_the_same(name: str) -> None:
    """XML and JSON of one instance differ only in where things stand."""
    xml, text = from_file(f"{name}.xml"), from_file(f"{name}.json")
    assert xml.settings == text.settings
    assert xml.origins.keys() == text.origins.keys()
    assert (whys(xml), xml.unmapped) == (whys(text), text.unmapped)
    assert xml.card_id == text.card_id == name


def test_every_path_that_is_taken_is_one_of_the_models() -> None:
    """No reader looks for a leaf that the modules as published do not have."""
    for path in system.MAPPED | snmp.MAPPED | interfaces.MAPPED:
        assert data_model().get_data_node(f"/{path}") is not None, path


def test_the_engine_answers_what_is_listed() -> None:
    """RFC 7407 A.1: two endpoints at one port, v2c and v3 but not v1."""
    assert from_file("rfc7407-a1.xml").settings == {
        "snmp": {
            "enabled": True,
            "engine_id": "80:00:02:b8:04:61:62:63",
            "port": 161,
            "versions": ["v2c", "v3"],
        }
    }


def test_a_tagged_community_is_for_its_targets_alone() -> None:
    """RFC 7407 A.2: the well-known word public, but for a single address."""
    found = from_file("rfc7407-a2.xml")
    assert found.settings["snmp"]["communities"] == [
        {
            "name": "1",
            "community": {"clear": "public"},
            "security_name": "community-public",
            "allowed_sources": {"prefixes": ["2001:db8::abcd/128"]},
        }
    ]
    origin = found.origins["/snmp/communities/0/community"]
    assert str(origin) == "rfc7407-a2.xml:7 (/config/snmp/community/text-name)"


def localized(password: bytes, engine: bytes) -> str:
    """Return the localized key of a password. Source: RFC 3414 appendix A.2.2."""
    stretched = (password * (1_048_576 // len(password) + 1))[:1_048_576]
    key = hashlib.sha1(stretched).digest()  # noqa: S324 - the protocol of the example
    return hashlib.sha1(key + engine + key).hexdigest()  # noqa: S324 - the same


def test_users_have_the_keys_of_the_example() -> None:
    """RFC 7407 A.3: the keys are broken over two lines; both come from the one password maplesyrup.

    The engine is that of RFC 3414 A.3, as in the instance; the prose beside it names another.
    """
    joey, matt, russ = from_file("rfc7407-a3.xml").settings["snmp"]["users"]
    key = localized(b"maplesyrup", bytes(11) + b"\x02")
    assert joey == {
        "name": "joey",
        "level": "noAuthNoPriv",
        "auth_protocol": "none",
        "priv_protocol": "none",
    }
    assert matt == {
        "name": "matt",
        "enabled": False,
        "auth_protocol": "sha1",
        "auth_secret": {"localized": key},
        "priv_protocol": "none",
    }
    assert russ == {
        "name": "russ",
        "enabled": False,
        "auth_protocol": "sha1",
        "auth_secret": {"localized": key},
        "priv_protocol": "aes128",
        "priv_secret": {"localized": key[:32]},
    }


def test_receivers_are_the_targets_whose_tag_is_notified() -> None:
    """RFC 7407 A.4: three addresses by two tags, with the parameters that each target names."""
    expected = [
        ("addr1", "192.0.2.3", "joe", "authNoPriv"),
        ("addr2", "192.0.2.6", "joe", "authNoPriv"),
        ("addr3", "192.0.2.9", "bob", "authPriv"),
    ]
    assert from_file("rfc7407-a4.xml").settings["snmp"]["receivers"] == [
        {
            "name": name,
            "enabled": True,
            "host": host,
            "port": 162,
            "kind": "trap",
            "version": "v3",
            "user": user,
            "level": level,
        }
        for name, host, user, level in expected
    ]


@pytest.mark.parametrize(
    ("name", "restricted"),
    [
        ("minimum-secure", ["1.3.6.1"]),
        (
            "semi-secure",
            [
                "1.3.6.1.2.1.1",
                "1.3.6.1.2.1.11",
                "1.3.6.1.6.3.10.2.1",
                "1.3.6.1.6.3.11.2.1",
                "1.3.6.1.6.3.15.1.1",
            ],
        ),
    ],
)
def test_views_keep_the_slip_of_the_example(name: str, restricted: list[str]) -> None:
    """RFC 7407 A.6: the rows name a view internet that is defined nowhere; it stays so in the record."""
    vacm = from_file(f"rfc7407-a6-{name}.xml").settings["snmp"]["vacm"]
    row = {"group": "initial", "context": "", "match": "exact", "security_model": "usm"}
    assert vacm == {
        "groups": [{"group": "initial", "security_model": "usm", "security_name": "initial"}],
        "access": [
            {**row, "level": "noAuthNoPriv", "read_view": "restricted", "notify_view": "restricted"},
            {
                **row,
                "level": "authNoPriv",
                "read_view": "internet",
                "write_view": "internet",
                "notify_view": "internet",
            },
        ],
        "views": [
            {"name": "initial", "subtree": "1.3.6.1", "type": "included"},
            *({"name": "restricted", "subtree": subtree, "type": "included"} for subtree in restricted),
        ],
    }


def test_the_instance_for_the_system_model() -> None:
    """RFC 7317 prints no instance; this one is ours, and $0$ in it marks a clear password."""
    settings = from_file("rfc7317.json").settings
    assert settings == {
        "network": {"hostname": "ups-room-1"},
        "time": {"source": "ntp", "servers": [{"host": "192.0.2.123", "port": 123}]},
        "directory": {
            "radius": {
                "enabled": True,
                "protocol": "pap",
                "servers": [
                    {
                        "host": "192.0.2.18",
                        "port": 1812,
                        "transport": "udp",
                        "shared_secret": {"clear": "not a good one"},
                    }
                ],
            },
            "order": ["radius", "local"],
            "local_fallback": {"when": "always", "accounts": "all"},
        },
        "accounts": [{"name": "admin", "enabled": True, "password": {"clear": "admin"}}],
    }


def test_a_configured_interface_has_the_defaults_of_the_model() -> None:
    """RFC 8344 appendix A: nothing says enabled, so everything is; the address is configured, so static."""
    found = from_file("rfc8344-a.xml")
    assert found.settings["network"]["interfaces"] == [
        {
            "name": "eth0",
            "enabled": True,
            "ipv4": {"enabled": True, "method": "static", "address": "192.0.2.1", "prefix_length": 24},
            "ipv6": {
                "enabled": True,
                "autoconfiguration": True,
                "addresses": [{"address": "2001:db8::10", "prefix_length": 32}],
            },
        }
    ]
    assert found.unmapped == (
        "ietf-interfaces:interfaces/interface/type",
        "ietf-interfaces:interfaces/interface/ietf-ip:ipv6/mtu",
        "ietf-interfaces:interfaces/interface/ietf-ip:ipv6/dup-addr-detect-transmits",
    )


def test_an_observed_interface_tells_where_its_addresses_came_from() -> None:
    """RFC 8344 appendix B: the origins static and dhcp, in the state of one interface."""
    [eth0] = from_file("rfc8344-b.json").settings["network"]["interfaces"]
    assert eth0["ipv4"]["method"] == "static"
    assert eth0["ipv6"]["dhcp"] is True
    assert [one["address"] for one in eth0["ipv6"]["addresses"]] == ["2001:db8::10", "2001:db8::1:100"]


def test_the_state_of_the_invented_card() -> None:
    """What is observed has no defaults: of IPv4 at the second interface, nobody says that it is on."""
    found = from_file("ups-room-1-state.xml")
    assert found.settings == {
        "capture": {"card_clock": "2026-11-20T10:30:02+01:00"},
        "network": {
            "interfaces": [
                {
                    "name": "lan",
                    "enabled": True,
                    "mac_address": "02:00:5e:10:00:21",
                    "ipv4": {
                        "enabled": True,
                        "method": "dhcp",
                        "address": "192.0.2.21",
                        "prefix_length": 26,
                    },
                },
                {
                    "name": "service",
                    "enabled": False,
                    "mac_address": "02:00:5e:10:00:22",
                    "ipv4": {"method": "link_local", "address": "169.254.7.7", "prefix_length": 16},
                },
            ]
        },
    }
    assert whys(found) == ["a record holds one IPv4 address of an interface; the first is kept"]
