"""What ietf-system tells, and what may not be made of it."""

import pytest

from tests.intake.ietf.told import imported, whys


def system(**members: object) -> dict[str, object]:
    """Return an instance of ietf-system; names are written with hyphens."""
    return {"ietf-system:system": {name.replace("_", "-"): value for name, value in members.items()}}


@pytest.mark.parametrize(
    ("hostname", "network"),
    [
        ("card", {"hostname": "card"}),
        ("card.example.org", {"hostname": "card", "domain": "example.org"}),
        ("card.example.org.", {"hostname": "card", "domain": "example.org"}),
    ],
)
def test_a_full_name_is_split(hostname: str, network: dict[str, str]) -> None:
    """The model allows a label or a full name; a record has a place for each part."""
    assert imported(system(hostname=hostname)).settings == {"network": network}


def test_an_offset_means_no_daylight_saving() -> None:
    """RFC 7317 says so; a zone by name leaves it open."""
    assert imported(system(clock={"timezone-utc-offset": -480})).settings["time"] == {
        "utc_offset_min": -480,
        "daylight_saving": False,
    }
    assert imported(system(clock={"timezone-name": "Europe/Stockholm"})).settings["time"] == {
        "timezone": "Europe/Stockholm"
    }


def test_ntp_that_is_off_does_not_say_what_sets_the_clock() -> None:
    """The servers are still told; the source stays unknown, and the loss says so."""
    server = {"name": "a", "udp": {"address": "192.0.2.9"}}
    found = imported(system(ntp={"enabled": False, "server": [server]}))
    assert found.settings["time"] == {"servers": [{"host": "192.0.2.9", "port": 123}]}
    assert whys(found) == ["NTP is off, and what else sets the clock is not told"]


def test_no_ntp_at_all_is_unknown() -> None:
    """A filter may have left the container out, so its absence tells nothing."""
    assert imported(system(hostname="card")).settings == {"network": {"hostname": "card"}}


@pytest.mark.parametrize(
    ("order", "keys", "settings"),
    [
        (
            ["ietf-system:radius", "ietf-system:local-users"],
            False,
            {"order": ["radius", "local"], "local_fallback": {"when": "always", "accounts": "all"}},
        ),
        (["radius"], False, {"order": ["radius"], "local_fallback": {"when": "never"}}),
        (["radius"], True, {"order": ["radius"]}),
        (["local-users"], False, {"order": ["local"]}),
    ],
)
def test_the_order_tells_when_local_accounts_work(
    order: list[str], keys: bool, settings: dict[str, object]
) -> None:
    """The next method is used whenever one fails, so RADIUS does not shut out a local password behind it."""
    user: dict[str, object] = {"name": "keeper", "password": "$0$a b"}
    if keys:
        user["authorized-key"] = [{"name": "k", "algorithm": "ssh-ed25519", "key-data": "AAAA"}]
    found = imported(system(authentication={"user-authentication-order": order, "user": [user]}))
    radius = {"radius": {"enabled": "radius" in order[0]}}
    assert found.settings["directory"] == {**settings, **radius}
    enabled = {} if keys else {"enabled": "local-users" in order[-1]}
    assert found.settings["accounts"] == [{"name": "keeper", "password": {"clear": "a b"}, **enabled}]


def test_a_method_of_another_module_leaves_the_order_unknown() -> None:
    """Half an order would be a wrong one."""
    found = imported(system(authentication={"user-authentication-order": ["acme:badge", "radius"]}))
    assert found.settings == {}
    assert whys(found) == ["a record has words only for radius and local-users"]


def test_two_ways_for_the_password_are_a_contradiction() -> None:
    """A record has one protocol for all servers; the second is lost and not hidden."""
    servers = [
        {"name": name, "udp": {"address": "192.0.2.9", "shared-secret": "s"}, **extra}
        for name, extra in (("a", {}), ("b", {"authentication-type": "ietf-system:radius-chap"}))
    ]
    found = imported(system(radius={"server": servers}))
    assert found.settings["directory"]["radius"]["protocol"] == "pap"
    assert whys(found) == ["told again and differently"]


@pytest.mark.parametrize("password", ["********", "$0$********", "bare", "$2b$12$" + "x" * 53])
def test_a_password_that_is_none_is_lost(password: str) -> None:
    """Masked or of no form that the model allows: the account stays, its password is unknown."""
    found = imported(system(authentication={"user": [{"name": "keeper", "password": password}]}))
    assert found.settings == {"accounts": [{"name": "keeper"}]}
    [lost] = found.lost
    assert password not in lost.why


def test_the_observed_clock_is_that_of_the_capture() -> None:
    """The offset stays as the card shows it."""
    clock = {"current-datetime": "2026-11-20T10:30:02.5+01:00"}
    found = imported({"ietf-system:system-state": {"clock": clock}})
    assert found.settings == {"capture": {"card_clock": "2026-11-20T10:30:02.5+01:00"}}


def test_what_the_operational_state_leaves_out_has_no_default() -> None:
    """RFC 8342 section 5.3: a leaf that is absent there is not in use with its default."""
    server = {
        "name": "a",
        "udp": {"address": "192.0.2.9"},
        "@": {"ietf-origin:origin": "ietf-origin:intended"},
    }
    found = imported(system(ntp={"server": [server]}))
    assert found.settings["time"] == {"servers": [{"host": "192.0.2.9"}]}
