"""What ietf-snmp tells of engine, communities, users and receivers."""

from typing import Any

import pytest

from tests.intake.ietf.told import from_file, imported, whys

KEY = ":".join(["5a"] * 16)


def snmp(**members: object) -> dict[str, object]:
    """Return an instance of ietf-snmp; names are written with hyphens."""
    return {"ietf-snmp:snmp": {name.replace("_", "-"): value for name, value in members.items()}}


def of_snmp(**members: object) -> Any:
    """Return what is imported of an instance, without losses."""
    found = imported(snmp(**members))
    assert found.lost == ()
    return found.settings["snmp"]


def test_versions_are_those_that_are_present() -> None:
    """An empty container means that none is on; no container, that nothing is known."""
    assert of_snmp(engine={"version": {"v3": [None], "v1": [None]}}) == {"versions": ["v1", "v3"]}
    assert of_snmp(engine={"version": {}}) == {"versions": []}
    assert of_snmp(engine={"enabled": True}) == {"enabled": True}


def test_an_engine_that_does_not_say_so_is_not_taken_for_off() -> None:
    """The model's default is off, but a filter may have left the leaf out: unknown is the safe reading."""
    assert of_snmp(engine={"enable-authen-traps": False}) == {"authentication_failure_notifications": False}


def test_a_port_is_161_unless_told() -> None:
    """RFC 7407: a responder without a port listens at 161; several ports are a contradiction."""
    endpoints = [{"name": str(port), "udp": {"ip": "192.0.2.9", "port": port}} for port in (161, 1161)]
    assert of_snmp(engine={"listen": [{"name": "a", "udp": {"ip": "::"}}]}) == {"port": 161}
    found = imported(snmp(engine={"listen": endpoints}))
    assert found.settings["snmp"] == {"port": 161}
    assert whys(found) == ["told again and differently"]


@pytest.mark.parametrize(
    ("entry", "community"),
    [
        ({"text-name": "R&D <1>"}, {"clear": "R&D <1>"}),
        ({"text-name": ""}, {"empty": True}),
        ({"binary-name": "cHJpdmF0ZQ=="}, {"clear": "private"}),
        ({}, {"clear": "sees"}),
    ],
)
def test_a_community_is_its_name_or_else_its_security_name(
    entry: dict[str, object], community: dict[str, object]
) -> None:
    """RFC 7407: if no name is set, the security name is the community."""
    [found] = of_snmp(community=[{"index": "a", "security-name": "sees", **entry}])["communities"]
    assert found["community"] == community


def test_bytes_that_are_no_text_are_lost() -> None:
    """A record holds texts; the community itself stays in it."""
    entry = {"index": "a", "security-name": "sees", "binary-name": "/w=="}
    found = imported(snmp(community=[entry]))
    assert "community" not in found.settings["snmp"]["communities"][0]
    assert whys(found) == ["a binary value that is no text in UTF-8"]


@pytest.mark.parametrize(
    ("members", "sources", "why"),
    [
        ({}, {"any": True}, []),
        ({"target": []}, {"any": True}, []),
        ({"tag": "a"}, None, ["the targets that the tag selects are not told"]),
        ({"tag": "none", "target": ["192.0.2.1"]}, {"prefixes": []}, []),
        (
            {"tag": "a", "target": ["192.0.2.1", "2001:db8::1"]},
            {"prefixes": ["192.0.2.1/32", "2001:db8::1/128"]},
            [],
        ),
        (
            {"tag": "a", "target": ["nowhere"]},
            None,
            ["a target that the tag selects: expected an address and the length of its prefix"],
        ),
    ],
)
def test_a_tag_says_who_may_use_a_community(members: dict[str, Any], sources: object, why: list[str]) -> None:
    """RFC 3584 section 5.3: no tag, any source; a tag that selects no target, nobody."""
    tag = {"target-tag": members["tag"]} if "tag" in members else {}
    targets = [
        {"name": address, "udp": {"ip": address}, "tag": ["a"], "target-params": "p"}
        for address in members.get("target", [])
    ]
    instance = snmp(community=[{"index": "a", "security-name": "s", **tag}], target=targets)
    found = imported(instance)
    assert found.settings["snmp"]["communities"][0].get("allowed_sources") == sources
    assert whys(found) == why


@pytest.mark.parametrize(
    ("versions", "community", "user"),
    [(["v1"], True, False), (["v2c", "v3"], True, True), (["v3"], False, True), ([], False, False)],
)
def test_what_is_answered_hangs_on_the_versions(versions: list[str], community: bool, user: bool) -> None:
    """A community needs v1 or v2c, a user v3; a row has no switch of its own."""
    told = of_snmp(
        engine={"version": {version: [None] for version in versions}},
        community=[{"index": "a", "security-name": "s"}],
        usm={"local": {"user": [{"name": "u"}]}},
    )
    assert told["communities"][0]["enabled"] is community
    assert told["users"][0]["enabled"] is user


def test_a_remote_user_is_never_answered_and_gives_way_to_a_local_one() -> None:
    """RFC 3414 section 3.2: a request must name the card's own engine."""
    remote = [{"engine-id": "80:00:00:00:01", "user": [{"name": "a"}, {"name": "b"}]}]
    found = imported(snmp(usm={"local": {"user": [{"name": "a"}]}, "remote": remote}))
    assert [(user["name"], user.get("enabled")) for user in found.settings["snmp"]["users"]] == [
        ("a", None),
        ("b", False),
    ]
    assert whys(found) == ["a record holds one user of a name; another is kept"]


@pytest.mark.parametrize("key", ["********", "zz:zz", "5a:5a"])
def test_a_key_that_is_none_is_lost(key: str) -> None:
    """The protocol is still known; the key is not repeated."""
    found = imported(snmp(usm={"local": {"user": [{"name": "a", "auth": {"md5": {"key": key}}}]}}))
    assert found.settings["snmp"]["users"] == [{"name": "a", "auth_protocol": "md5", "priv_protocol": "none"}]
    [lost] = found.lost
    assert key not in lost.why


def notified(params: dict[str, object], **more: object) -> Any:
    """Return the receivers of one target with such parameters."""
    target = {"name": "t", "udp": {"ip": "192.0.2.1"}, "tag": ["x"], "target-params": "p"}
    params = {"name": "p", **params}
    return imported(snmp(notify=[{"name": "n", "tag": "x"}], target=[target], target_params=[params], **more))


@pytest.mark.parametrize(
    ("params", "receiver"),
    [
        ({"v1": {"security-name": "s"}}, {"version": "v1"}),
        ({"v2c": {"security-name": "s"}}, {"version": "v2c"}),
        (
            {"usm": {"user-name": "u", "security-level": "no-auth-no-priv"}},
            {"version": "v3", "user": "u", "level": "noAuthNoPriv"},
        ),
        (
            {"tsm": {"security-name": "s", "security-level": "auth-priv"}},
            {"version": "v3", "user": "s", "level": "authPriv"},
        ),
        ({}, {}),
    ],
)
def test_parameters_tell_how_a_notification_is_sent(
    params: dict[str, object], receiver: dict[str, object]
) -> None:
    """Port 162 and a trap are the defaults of the model."""
    [found] = notified(params).settings["snmp"]["receivers"]
    around = {"name": "t", "enabled": True, "host": "192.0.2.1", "port": 162, "kind": "trap"}
    assert found == {**around, **receiver}


def test_the_community_of_a_receiver_is_that_of_its_security_name() -> None:
    """One string is taken; two different ones are lost, since either may be sent."""
    rows = [{"index": name, "security-name": "s", "text-name": name} for name in ("a", "b")]
    one = notified({"v2c": {"security-name": "s"}}, community=rows[:1])
    assert one.settings["snmp"]["receivers"][0]["community"] == {"clear": "a"}
    two = notified({"v2c": {"security-name": "s"}}, community=rows)
    assert "community" not in two.settings["snmp"]["receivers"][0]
    assert whys(two) == ["several communities for one security name of a receiver"]


def test_the_invented_card_keeps_targets_of_every_transport() -> None:
    """A trap and an inform to one target are two receivers; TLS has its own port."""
    found = from_file("ups-room-1.xml")
    assert [
        (one["name"], one["kind"], one["port"], one["version"]) for one in found.settings["snmp"]["receivers"]
    ] == [
        ("watch-a", "trap", 162, "v2c"),
        ("watch-b", "trap", 10162, "v3"),
        ("watch-c", "trap", 10161, "v3"),
        ("watch-b", "inform", 10162, "v3"),
    ]
    assert "ietf-snmp:snmp/target/tls/server-fingerprint" in found.unmapped


def test_proxies_and_filters_are_unmapped_by_name() -> None:
    """RFC 7407 A.5 is about proxies; only their name is kept, with none of their values."""
    proxy = {"name": "to-the-agent", "type": "read", "context-engine-id": "80:00:00:00:01"}
    found = imported(snmp(proxy=[proxy, proxy], tsm={"use-prefix": True}))
    assert found.unmapped == ("ietf-snmp:snmp/proxy", "ietf-snmp:snmp/tsm")
    assert found.settings == {}
