"""The plan of a card, as the issue of its safety asks: replayed step by step, on every kind of card."""

from operator import attrgetter

import orjson
import pytest

from auditor.facts.catalogue import FACTS
from auditor.facts.secret_class import NEW_KEY
from auditor.procedure.edit import EditKind
from auditor.procedure.left_out import Reason
from auditor.procedure.plan import Asked, CardPlan
from auditor.procedure.timetable import BlockKind
from auditor.procedure.way_in import ways_in
from auditor.record.reading import Record, read_record
from auditor.rules.loading import load_ruleset
from auditor.rules.program import make_program
from auditor.rules.tailoring import Tailoring
from tests.bench.estate import generate
from tests.procedure.promises import faults, has_record_after, once_more
from tests.procedure.sample import ADDRESS, CONTEXT, compliant, demo_program, demo_records, own_program, plan
from tests.procedure.traps import CIRCULAR, ONLY_FACTORY, ONLY_TELNET, RULE, SHUT_OUT

GENERATED = 2000


@pytest.mark.parametrize("asked", [Asked(), Asked(ADDRESS)], ids=["anywhere", "from an address"])
@pytest.mark.parametrize("record", demo_records(), ids=attrgetter("card_id"))
def test_a_plan_of_the_demo_estate_keeps_what_it_promises(record: Record, asked: Asked) -> None:
    """Order, ways in, promises, nothing new; and a second plan has nothing to do."""
    found = plan(record, asked, demo_program())
    assert list(faults(found)) == []
    assert list(once_more(found, asked).graph.steps) == []
    assert has_record_after(found)


def test_the_demo_estate_is_mostly_mended() -> None:
    """The test above would pass for plans that do nothing: these do nearly all."""
    plans = [plan(record, Asked(), demo_program()) for record in demo_records()]
    before = sum(len(found.before.findings) for found in plans)
    after = sum(len(found.after.findings) for found in plans)
    assert after < before / 5


def test_plans_of_generated_cards_keep_what_they_promise() -> None:
    """The same of two thousand cards, a third of them with faults planted."""
    steps, broken = 0, []
    for text in generate(GENERATED, seed=7):
        found = plan(read_record(text, "card.json"), Asked("192.0.2.9"))
        steps += len(found.graph.steps)
        broken += [(found.record.card_id, fault) for fault in faults(found)]
        if len(found.graph.steps) > 0 and once_more(found, Asked("192.0.2.9")).graph.steps:
            broken.append((found.record.card_id, "a second plan is not empty"))
    assert broken == []
    assert steps > GENERATED


def test_where_telnet_is_the_only_way_in_ssh_is_opened_first() -> None:
    """Telnet goes, but another way is open before it does."""
    found = plan(compliant(ONLY_TELNET), Asked("192.0.2.9"))
    order = [step.id for block in found.blocks for step in block.steps]
    assert order.index("open-ssh") < order.index("telnet-enabled")
    assert [str(way) for way in found.ways if "Telnet" not in str(way)] == []
    assert list(faults(found)) == []


def test_where_telnet_is_the_only_way_in_and_ssh_lets_nobody_in_telnet_stays() -> None:
    """What can't be replaced is left out, with the reason and what to do instead."""
    found = plan(
        compliant({**ONLY_TELNET, "services/ssh/allowed_sources": {"prefixes": []}}), Asked("192.0.2.9")
    )
    assert [(left.step.id, left.reason) for left in found.refused] == [("telnet-enabled", Reason.LAST_WAY)]
    assert "turn HTTPS or SSH on" in found.refused[0].instead
    assert "open-ssh" not in found.graph.steps
    assert list(faults(found)) == []


def test_where_the_factory_account_is_the_only_administrator_another_is_made_first() -> None:
    """The delivered account goes only after a new administrator can log in."""
    found = plan(compliant({"accounts": ONLY_FACTORY}), Asked("192.0.2.9"))
    order = [step.id for block in found.blocks for step in block.steps]
    assert order.index("new-administrator") < order.index("account-off/accounts/0")
    new = found.after_settings["accounts"][-1]
    assert (new["role"], new["enabled"], list(new["password"])) == ("administrator", True, ["sealed"])
    assert list(faults(found)) == []


def test_a_directory_that_may_be_down_is_no_way_to_rely_on() -> None:
    """Everybody in the directory is administrator; still the last local one is not disabled for that."""
    card = compliant(
        {
            "accounts": ONLY_FACTORY,
            "directory/ldap/default_role": "administrator",
            "services/serial_console/enabled": False,
        }
    )
    found = plan(card, Asked("192.0.2.9"))
    assert {way.channel for way in found.ways if way.is_central} == {"https", "ssh"}, "SSH by key, too"
    after = ways_in(CONTEXT, "192.0.2.9")(found.after_settings)
    assert any(not way.is_central for way in after)
    assert "new-administrator" in found.graph.steps


def test_a_filter_that_shuts_the_technician_out_is_said_and_nothing_is_closed() -> None:
    """From an address that is not let in no way is open: what could close one is left out, and why."""
    card = compliant(SHUT_OUT)
    found = plan(card, Asked("192.0.2.9"))
    assert found.ways == ()
    assert {left.reason for left in found.refused} == {Reason.NO_WAY}
    assert "192.0.2.9" in found.refused[0].detail
    assert list(faults(found)) == []


def test_allowed_sources_come_last_and_let_the_technician_in() -> None:
    """A filter is narrowed to nothing but the technician's own address, after all else."""
    card = compliant({"network/allowed_sources": {"any": True}, "services/telnet": {"enabled": True}})
    found = plan(card, Asked("192.0.2.9"))
    order = [step.id for block in found.blocks for step in block.steps]
    assert order[-1] == "sources" or order[-1] == "service-sources"
    assert "192.0.2.9/32" in found.after_settings["network"]["allowed_sources"]["prefixes"]


def test_a_filter_that_is_narrowed_keeps_what_is_narrow_and_adds_the_technician() -> None:
    """The wide prefix that let the technician in goes; the address comes in its place."""
    wide = {"prefixes": ["192.0.0.0/16", "198.51.100.0/28"]}
    found = plan(compliant({"network/allowed_sources": wide}), Asked("192.0.2.9"))
    assert found.after_settings["network"]["allowed_sources"] == {
        "prefixes": ["198.51.100.0/28", "192.0.2.9/32"]
    }
    assert list(faults(found)) == []


def test_without_an_address_no_filter_is_touched() -> None:
    """Nobody can tell then whether the technician would still get in."""
    found = plan(compliant({"network/allowed_sources": {"any": True}}))
    assert "sources" not in found.graph.steps
    assert [left.reason for left in found.remaining if left.finding.rule.id == "card-open-to-any-source"] == [
        Reason.NO_ADDRESS
    ]


def test_a_value_that_only_the_site_knows_is_left_out_and_the_rest_of_the_step_is_done() -> None:
    """Nobody could tell of a new address whether it is complete; IPv6 can be mended at once."""
    (card,) = (record for record in demo_records() if record.card_id == "out-ups-culver")
    found = plan(card, Asked(), demo_program())
    (left,) = found.refused
    assert left.reason is Reason.SITES_VALUE
    assert left.step.rule_ids == {"address-network-or-broadcast", "gateway-not-reachable"}
    assert "static-address-incomplete" in left.detail
    assert found.graph.steps["address/network/interfaces/0"].rule_ids == {"ipv6-autoconfiguration-on"}
    assert list(faults(found)) == []


def test_what_is_turned_off_is_not_set_up_in_the_same_step() -> None:
    """Bluetooth that goes needs no better pairing first; the step is called by what it does."""
    card = compliant({"services/bluetooth": {"enabled": True, "pairing": "fixed_pin"}})
    done = plan(card).done["bluetooth"]
    assert [(edit.pointer, edit.value) for edit in done.edits] == [("/services/bluetooth/enabled", False)]
    assert [finding.rule.id for finding in done.needed] == ["bluetooth-enabled"]
    assert {finding.rule.id for finding in done.step.findings} == {
        "bluetooth-enabled",
        "bluetooth-weak-pairing",
    }


def order_of(found: CardPlan) -> list[str]:
    """Return the ids of the steps, in their order."""
    return [step.id for block in found.blocks for step in block.steps]


def test_the_order_is_one_that_an_experienced_technician_would_take() -> None:
    """On the card fresh from its box, on one of ten years, and on one without local accounts."""
    by_id = {record.card_id: record for record in demo_records()}
    new = order_of(plan(by_id["fhw-ups-uv"], Asked(ADDRESS), demo_program()))
    old = order_of(plan(by_id["fhw-ups-backwash"], Asked(ADDRESS), demo_program()))
    without = order_of(plan(by_id["sds-pdu-rack-2"], Asked(ADDRESS), demo_program()))
    for order, first, second in (
        (new, "certificate", "http-without-redirect"),
        (new, "ssh-host-key/ssh/host_keys/0", "telnet-enabled"),
        (new, "snmp-user/snmp/users/0", "receiver/snmp/receivers/0"),
        (new, "receiver/snmp/receivers/0", "snmp-versions"),
        (new, "account-password/accounts/0", "account-off/accounts/0"),
        (new, "new-administrator", "account-off/accounts/0"),
        (new, "clock", "certificate"),
        (new, "account-off/accounts/0", "sources"),
        (new, "shutdown-start", "sources"),
        (old, "backup", "firmware"),
        (old, "firmware", "receiver/snmp/receivers/0"),
        (old, "firmware", "tls-settings"),
        (old, "radius-server/directory/radius/servers/0", "account-off/accounts/0"),
        (old, "dns", "mail"),
        (without, "local-fallback", "radius-server/directory/radius/servers/0"),
    ):
        assert order.index(first) < order.index(second), (first, second)
    assert new[-2:] == ["sources", "service-sources"]
    assert "ways-in" not in new, "other mends close its ways: no output is touched for nothing"
    assert old[0] == "firmware-not-checked", "what is done at the desk"


def test_circular_visit_data_is_refused_and_the_rest_goes_on() -> None:
    """Both steps of the circle are left out and named; a third is done."""
    rules = own_program(
        ("mdns", "mdns", 'visit = { after = ["ssdp"] }'),
        ("ssdp", "ssdp", 'visit = { after = ["mdns"] }'),
        ("llmnr", "llmnr", "visit = { restart = false }"),
    )
    card = compliant({f"services/{name}": {"enabled": True} for name in ("mdns", "ssdp", "llmnr")})
    found = plan(card, Asked(), rules)
    assert [left.reason for left in found.refused] == [Reason.CIRCLE] * 2
    assert all("mdns" in left.detail and "ssdp" in left.detail for left in found.refused)
    assert list(found.graph.steps) == ["llmnr"]


def test_what_waits_for_a_step_that_is_left_out_is_left_out_too() -> None:
    """And names it: here the last way in would be closed first."""
    rules = own_program(
        ("no-telnet", "telnet", "visit = { cuts_access = true }"),
        ("mdns", "mdns", 'visit = { after = ["no-telnet"] }'),
        ("ssdp", "ssdp", "visit = { minutes = 2 }"),
    )
    card = compliant({**ONLY_TELNET, "services/mdns": {"enabled": True}, "services/ssdp": {"enabled": True}})
    found = plan(card, Asked(), rules)
    assert {(left.step.id, left.reason, left.detail) for left in found.refused if left.step.id == "mdns"} == {
        ("mdns", Reason.WAITS, "no-telnet")
    }
    assert list(found.graph.steps) == ["ssdp"]


def test_rules_that_say_nothing_of_visits_stand_last_and_are_said_to_be_unordered() -> None:
    """A ruleset without visit data still gives steps."""
    rules = own_program(("mdns", "mdns", ""), ("ssdp", "ssdp", "visit = { last = true }"))
    card = compliant({f"services/{name}": {"enabled": True} for name in ("mdns", "ssdp")})
    found = plan(card, Asked(), rules)
    assert [(block.kind, [step.id for step in block.steps]) for block in found.blocks] == [
        (BlockKind.WORK, ["ssdp"]),
        (BlockKind.UNORDERED, ["mdns"]),
    ]


def test_a_mend_told_in_words_alone_leaves_its_settings_unknown() -> None:
    """Nobody knows what will be entered: the after-image says so, and the finding is gone."""
    text = (CIRCULAR + RULE.format(id="own", service="mdns", visit="")).replace(
        ', set = [{ at = "/services/mdns/enabled", to = false }]', ""
    )
    rules = make_program([load_ruleset(text.encode(), "own.toml", FACTS)], Tailoring(), FACTS)
    found = plan(compliant({"services/mdns": {"enabled": True}}), Asked(), rules)
    assert found.after_settings["services"]["mdns"] == {}
    assert found.mended == {("own", "")}


def test_only_findings_that_are_asked_for_are_mended() -> None:
    """The others remain, and it is said that they were not asked for."""
    card = compliant({"services/mdns": {"enabled": True}, "services/ssdp": {"enabled": True}})
    found = plan(card, Asked(findings=frozenset({(card.card_id, "mdns-enabled", "")})))
    assert found.mended == {("mdns-enabled", "")}
    assert [(left.finding.rule.id, left.reason) for left in found.remaining] == [
        ("ssdp-enabled", Reason.NOT_ASKED)
    ]


def test_a_plan_changes_nothing_of_the_record_and_holds_no_clear_secret_it_made() -> None:
    """Records are left as they are; what is new is sealed, with a tag of no key."""
    record = compliant({"accounts": ONLY_FACTORY})
    before = orjson.dumps(record.text.reveal().decode())
    found = plan(record, Asked("192.0.2.9"))
    assert orjson.dumps(record.text.reveal().decode()) == before
    made = [edit for done in found.done.values() for edit in done.edits if edit.kind is EditKind.NEW_SECRET]
    assert all(set(edit.value) == {"sealed"} and edit.value["sealed"]["key"] == NEW_KEY for edit in made)
