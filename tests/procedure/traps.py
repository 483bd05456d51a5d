"""What sets a trap for a plan: changes of the compliant card, and rules that wait for each other."""

ONLY_TELNET = {
    "services/http/enabled": False,
    "services/https/enabled": False,
    "services/ssh/enabled": False,
    "services/sftp/enabled": False,
    "services/scp/enabled": False,
    "services/rest_api/enabled": False,
    "services/serial_console/enabled": False,
    "services/usb/enabled": False,
    "services/telnet/enabled": True,
    "services/telnet/allowed_sources": {"prefixes": ["192.0.2.0/26"]},
}
"""Telnet is the only way in, from one prefix."""

SHUT_OUT = {
    **ONLY_TELNET,
    "services/telnet/allowed_sources": {"prefixes": ["198.51.100.0/28"]},
    "network/allowed_sources": {"prefixes": ["198.51.100.0/28"]},
}
"""Telnet is open, but not from where the technician of the tests is."""

ONLY_FACTORY = [
    {
        "name": "delivered",
        "role": "administrator",
        "enabled": True,
        "is_factory": True,
        "is_shared": False,
        "owner": "m.keller",
        "purpose": "emergency",
        "password": {
            "sealed": {"length_at_least": 20, "listed": "none", "guess_band": "beyond", "flags": []}
        },
        "password_is_factory": False,
        "password_changed_on": "2026-10-01",
        "second_factor": False,
    },
    {
        "name": "watch",
        "role": "viewer",
        "enabled": True,
        "is_factory": False,
        "is_shared": False,
        "owner": "control room",
        "purpose": "monitoring",
        "password": {
            "sealed": {"length_at_least": 20, "listed": "none", "guess_band": "beyond", "flags": []}
        },
        "password_is_factory": False,
        "password_changed_on": "2026-10-01",
        "second_factor": False,
    },
]
"""The accounts of a card on which the delivered account is the only administrator."""

CIRCULAR = """
[ruleset]
name = "circular"
title = "Two rules that wait for each other"
version = "1.0"
"""
RULE = """
[[rule]]
id = "{id}"
title = "T"
family = "site"
require = {{ at = "/services/{service}/enabled", equals = false }}
severity = {{ vector = "AV:N/AC:L/Au:N/C:P/I:P/A:N", because = "b" }}
why = "w"
mend = {{ text = "Off.", set = [{{ at = "/services/{service}/enabled", to = false }}] }}
verify = "v"
sources = ["s"]
{visit}
"""
