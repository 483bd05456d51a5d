"""Whether a change may be made: what counts as a way in, and what must be left of it."""

import pytest

from auditor.procedure.left_out import Reason
from auditor.procedure.plan import Asked
from auditor.procedure.way_in import WayIn, is_over_network, keeps_a_way, way_to_prove, ways_in
from tests.procedure.promises import faults
from tests.procedure.sample import ADDRESS, CONTEXT, compliant, demo_program, demo_records, own_program, plan
from tests.procedure.traps import ONLY_TELNET, SHUT_OUT

LOCAL = WayIn("https", "account a", is_central=False)
CENTRAL = WayIn("https", "any user of the LDAP directory", is_central=True)
FALLBACK = WayIn("https", "account b", is_central=False, condition="while the directory can't be reached")
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
        ((LOCAL,), (FALLBACK,), False),
        ((LOCAL,), (CENTRAL, FALLBACK), True),
        ((CENTRAL, FALLBACK), (CENTRAL,), False),
        ((CENTRAL, FALLBACK), (FALLBACK,), False),
        ((CENTRAL, FALLBACK), (LOCAL,), True),
        ((FALLBACK,), (FALLBACK,), True),
        ((FALLBACK,), (CENTRAL,), False),
    ],
)
def test_a_way_is_left_whether_or_not_the_directory_answers(
    before: tuple[WayIn, ...], after: tuple[WayIn, ...], *, keeps: bool
) -> None:
    """A directory may be down when it is needed most; a fallback account lets nobody in while it answers."""
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
            "directory/local_fallback/when": "always",
            "services/serial_console/enabled": False,
        }
    )
    found = plan(card, Asked("192.0.2.9"))
    order = [step.id for block in found.blocks for step in block.steps]
    assert all(way.is_central for way in found.ways)
    assert order.index("new-administrator") < order.index("directory-roles")
    assert any(not way.is_central for way in ways_in(CONTEXT, "192.0.2.9")(found.after_settings))
    assert list(faults(found)) == []


def test_the_fallback_is_not_limited_while_no_login_by_the_directory_is_certain() -> None:
    """While the directory answers, nobody would get in for certain; told, with what to prove first."""
    card = next(record for record in demo_records() if record.card_id == "fhw-ups-highlift-b")
    found = plan(card, Asked(ADDRESS), demo_program())
    assert [(left.step.id, left.reason) for left in found.refused] == [("fallback-when", Reason.LAST_WAY)]
    assert "by a group of the directory" in found.refused[0].instead
    assert list(faults(found)) == []


def test_a_way_to_prove_first_is_there_before_the_step_and_after_it() -> None:
    """Else nobody could prove it, or it would be no help; on every card of the demo estate."""
    for record in demo_records():
        for done in plan(record, Asked(ADDRESS), demo_program()).done.values():
            if done.step.visit.cuts_access and done.ways_before:
                assert done.prove in done.ways, done.step.id
                assert done.prove in done.ways_before, done.step.id


def test_a_fallback_account_is_proved_with_the_directory_cut_off() -> None:
    """Nothing else is there: the account lets nobody in while the directory answers."""
    assert FALLBACK.how_to_prove == "HTTPS, account b, with the directory cut off from the card"
    assert LOCAL.how_to_prove == str(LOCAL) == "HTTPS, account a"
    assert str(FALLBACK) == "HTTPS, account b, while the directory can't be reached"


SSH = WayIn("ssh", "account a", is_central=False)


@pytest.mark.parametrize(
    ("needs", "way"),
    [(("ssh", "https"), SSH), (("https",), LOCAL), ((), CONSOLE), (("directory", "administrator"), SSH)],
)
def test_the_way_to_prove_is_one_that_the_step_asks_for(needs: tuple[str, ...], way: WayIn) -> None:
    """Before Telnet goes a login over SSH is proved, as its text says, were HTTPS better ten times."""
    console = CONSOLE._replace(party="holder of the console's own password")
    given = (console, SSH, LOCAL)
    assert way_to_prove(given, given, needs) == (console if way is CONSOLE else way)
    assert way_to_prove((LOCAL, SSH), (LOCAL,), ("ssh",)) == LOCAL, "closed by the step itself"
    assert way_to_prove((LOCAL,), (SSH,), needs) is None
