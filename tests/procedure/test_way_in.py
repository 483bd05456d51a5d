"""Whether a change may be made: what counts as a way in, and what must be left of it."""

import pytest

from auditor.procedure.left_out import Reason
from auditor.procedure.plan import Asked
from auditor.procedure.way_in import WayIn, is_over_network, keeps_a_way, ways_in
from tests.procedure.promises import faults
from tests.procedure.sample import CONTEXT, compliant, own_program, plan
from tests.procedure.traps import ONLY_TELNET, SHUT_OUT

LOCAL = WayIn("https", "account a", is_central=False)
CENTRAL = WayIn("https", "any user of the LDAP directory", is_central=True)
CONSOLE = WayIn("serial_console", "account a", is_central=False)


@pytest.mark.parametrize(
    ("before", "after", "keeps"),
    [
        ((LOCAL,), (LOCAL,), True),
        ((LOCAL,), (CONSOLE,), True),
        ((LOCAL,), (), False),
        ((LOCAL, CENTRAL), (CENTRAL,), False),
        ((CENTRAL,), (CENTRAL,), True),
        ((CENTRAL,), (LOCAL,), True),
        ((CENTRAL,), (), False),
        ((), (), False),
    ],
)
def test_a_way_that_needs_no_directory_is_left_where_there_was_one(
    before: tuple[WayIn, ...], after: tuple[WayIn, ...], *, keeps: bool
) -> None:
    """A directory may be down when it is needed most."""
    assert keeps_a_way(before, after) is keeps


@pytest.mark.parametrize(
    ("ways", "over"), [((LOCAL,), True), ((CENTRAL,), False), ((CONSOLE,), False), ((), False)]
)
def test_over_the_network_is_what_needs_neither_presence_nor_directory(
    ways: tuple[WayIn, ...], *, over: bool
) -> None:
    """What a mend that can open another way must not close before it."""
    assert is_over_network(ways) is over


def test_ways_count_that_are_open_from_where_the_technician_is() -> None:
    """The same card, from inside its filter and from outside."""
    settings = compliant(SHUT_OUT).settings
    assert ways_in(CONTEXT, "192.0.2.9")(settings) == ()
    assert {way.channel for way in ways_in(CONTEXT, "198.51.100.3")(settings)} == {"telnet"}
    assert ways_in(CONTEXT)(settings) == ways_in(CONTEXT, "198.51.100.3")(settings)


def test_a_rule_that_knows_no_other_way_to_open_does_not_close_the_last() -> None:
    """A site's own rule against Telnet, where nothing else is open: left out, with what to do instead."""
    rules = own_program(("no-telnet", "telnet", "visit = { cuts_access = true }"))
    found = plan(compliant(ONLY_TELNET), Asked(), rules)
    assert [(left.step.id, left.reason) for left in found.refused] == [("no-telnet", Reason.LAST_WAY)]
    assert found.after_settings == found.record.settings


def test_a_rule_without_visit_data_does_not_close_the_last_way_either() -> None:
    """What a rule doesn't say of visits, reach says of the card."""
    found = plan(compliant(ONLY_TELNET), Asked(), own_program(("no-telnet", "telnet", "")))
    assert [left.reason for left in found.refused] == [Reason.LAST_WAY]


@pytest.mark.parametrize("kind", ["ldap", "radius"])
def test_where_only_a_directory_holds_administrators_a_local_one_is_made_first(
    kind: str,
) -> None:
    """Their role goes after it: nobody else could have got in."""
    card = compliant(
        {
            "accounts": [],
            "directory/ldap/default_role": "administrator" if kind == "ldap" else "none",
            "directory/radius/enabled": kind == "radius",
            "directory/ldap/enabled": kind == "ldap",
            "directory/radius/default_role": "administrator" if kind == "radius" else "none",
            "services/serial_console/enabled": False,
        }
    )
    found = plan(card, Asked("192.0.2.9"))
    order = [step.id for block in found.blocks for step in block.steps]
    assert all(way.is_central for way in found.ways)
    assert order.index("new-administrator") < order.index("directory-roles")
    assert any(not way.is_central for way in ways_in(CONTEXT, "192.0.2.9")(found.after_settings))
    assert list(faults(found)) == []
