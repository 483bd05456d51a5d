"""Cards that set a trap, through the command: refused or handled, with the reason and what to do instead."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from auditor.cli.main import app
from tests.procedure.sample import compliant
from tests.procedure.traps import CIRCULAR, ONLY_FACTORY, ONLY_TELNET, RULE, SHUT_OUT

AS_OF = ("--as-of", "2026-11-25T12:00:00Z")
HERE = ("--from", "192.0.2.9")


class Told:
    """What the command said: its exit code, its document, and the same procedure as Markdown."""

    def __init__(self, folder: Path, changes: Mapping[str, Any], *arguments: str) -> None:
        """Run the command on the compliant card with some changes."""
        record = folder / "card.json"
        record.write_bytes(compliant(changes).text.reveal())
        call = ["procedure", str(record), *AS_OF, *arguments, "--format"]
        result = CliRunner().invoke(app, [*call, "json"])
        assert result.stderr == ""
        self.code = result.exit_code
        self.document = json.loads(result.stdout)
        self.markdown = CliRunner().invoke(app, [*call, "markdown"]).stdout

    @property
    def steps(self) -> list[Any]:
        """Return the steps, in their order."""
        parts = [part for visit in self.document["visits"] for part in visit["parts"]]
        return [step for part in parts for block in part["blocks"] for step in block["steps"]]

    @property
    def order(self) -> list[str]:
        """Return the ids of the steps, in their order."""
        return [step["id"] for step in self.steps]

    def left(self, rule: str) -> Any:
        """Return the step left out that would have mended a finding; it says why, and what to do."""
        (left,) = [left for left in self.document["left_out"] if rule in left["rules"]]
        assert left["reason"]
        assert left["detail"]
        assert left["instead"]
        assert left["instead"].partition(".")[0].partition("(")[0] in self.markdown
        return left


def test_where_telnet_is_the_only_way_in_ssh_is_opened_and_proved_first(tmp_path: Path) -> None:
    """The step that closes Telnet holds until a login over SSH works, and SSH stands open after it."""
    told = Told(tmp_path, ONLY_TELNET, *HERE)
    assert told.code == 0
    assert told.order.index("open-ssh") < told.order.index("telnet-enabled")
    (closing,) = [step for step in told.steps if step["id"] == "telnet-enabled"]
    assert closing["prove"].startswith("SSH, account ")
    assert closing["ways_after"][0].startswith("SSH, account ")
    assert "Hold: prove first, in a second session: SSH" in told.markdown


def test_where_nothing_can_take_the_place_of_telnet_it_stays(tmp_path: Path) -> None:
    """SSH would let nobody in: the last way in stays open, and the exit code says that a step is missing."""
    told = Told(tmp_path, {**ONLY_TELNET, "services/ssh/allowed_sources": {"prefixes": []}}, *HERE)
    left = told.left("telnet-enabled")
    assert told.code == 1
    assert "last way in" in left["reason"]
    assert "Telnet" in left["detail"]
    assert "turn HTTPS or SSH on" in left["instead"]
    assert "telnet-enabled" not in told.order


def test_where_the_factory_account_is_the_only_administrator_another_is_proved_first(tmp_path: Path) -> None:
    """The delivered account is disabled only after the new one is open."""
    told = Told(tmp_path, {"accounts": ONLY_FACTORY}, *HERE)
    assert told.code == 0
    assert told.order.index("new-administrator") < told.order.index("account-off/accounts/0")
    (closing,) = [step for step in told.steps if step["id"] == "account-off/accounts/0"]
    assert closing["prove"] == "HTTPS, account new-administrator, with the directory cut off from the card"
    assert not [way for way in closing["ways_after"] if "delivered" in way]


def test_a_directory_that_may_be_down_does_not_stand_in_for_the_last_local_account(tmp_path: Path) -> None:
    """Everybody in it is administrator, by key or password; still a local account is made first."""
    changes = {
        "accounts": ONLY_FACTORY,
        "directory/ldap/default_role": "administrator",
        "services/serial_console/enabled": False,
    }
    told = Told(tmp_path, changes, *HERE)
    assert told.order.index("new-administrator") < told.order.index("account-off/accounts/0")


def test_a_filter_that_shuts_the_technician_out_is_told(tmp_path: Path) -> None:
    """Nothing that could close a way is done from an address that is not let in."""
    told = Told(tmp_path, SHUT_OUT, *HERE)
    left = told.left("telnet-enabled")
    assert told.code == 1
    assert left["detail"] == "the record shows none from 192.0.2.9"
    assert "--from" in left["instead"]
    assert told.order == []
    inside = Told(tmp_path, SHUT_OUT, "--from", "198.51.100.3")
    assert "Telnet" in inside.left("telnet-enabled")["detail"], "from inside it is the last way, and known"


def test_a_filter_is_narrowed_last_and_lets_the_technician_in(tmp_path: Path) -> None:
    """From the address given; without one no filter is touched, and it is said why."""
    changes = {"network/allowed_sources": {"any": True}, "services/mdns/enabled": True}
    told = Told(tmp_path, changes, *HERE)
    assert told.order[-1] == "sources"
    assert "First 192.0.2.9/32, from where you work" in told.steps[-1]["enter"][0]["value"]
    without = Told(tmp_path, changes)
    (remaining,) = [
        each for each in without.document["remaining"] if each["rule"] == "card-open-to-any-source"
    ]
    assert "address that you work from was not given" in remaining["reason"]
    assert remaining["instead"] == "Say it with --from ADDRESS."


def test_circular_visit_data_is_refused_and_the_rest_is_done(tmp_path: Path) -> None:
    """Both steps of the circle are named; a ruleset with a fault in it still gives the others."""
    ruleset = tmp_path / "own.toml"
    rules = (("mdns", "ssdp"), ("ssdp", "mdns"), ("llmnr", ""))
    ruleset.write_text(
        CIRCULAR
        + "".join(
            RULE.format(id=name, service=name, visit=f'visit = {{ after = ["{after}"] }}' if after else "")
            for name, after in rules
        ),
        "utf-8",
    )
    services = {f"services/{name}": {"enabled": True} for name, _ in rules}
    told = Told(tmp_path, services, "--ruleset", str(ruleset))
    left = told.left("mdns")
    assert told.code == 1
    assert left["reason"] == "it waits for steps that wait for it"
    assert left["detail"] == "mdns → ssdp → mdns"
    assert "Correct what the rules say of visits" in left["instead"]
    assert told.order == ["llmnr"]
    assert "Without an order: the rules say nothing of visits" in told.markdown


@pytest.mark.parametrize(("window", "visits"), [("31", 0), ("32", 1)])
def test_a_window_too_short_for_the_first_step_says_how_long_it_must_be(
    window: str, visits: int, tmp_path: Path
) -> None:
    """One minute too few: no visit, the minutes that are needed, and exit code 1; with them, one visit."""
    told = Told(tmp_path, {"services/mdns": {"enabled": True}}, *HERE, "--window", window)
    assert len(told.document["visits"]) == visits
    assert told.code == (0 if visits else 1)
    if not visits:
        left = told.left("mdns-enabled")
        assert "32 min in all" in left["detail"]
        assert left["instead"].startswith("Agree on a window of 32 min or more")
