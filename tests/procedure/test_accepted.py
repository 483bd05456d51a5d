"""What a deviation accepts stays as it is: no step changes a setting that an accepted finding rests on."""

from datetime import date

import pytest

from auditor.procedure.left_out import Reason
from auditor.procedure.plan import Asked, CardPlan
from auditor.procedure.step import key_of
from auditor.record.pointer import split, value_at
from auditor.record.reading import Record
from auditor.record.settings import Settings
from auditor.scoring.deviation import Deviation
from tests.procedure.promises import faults
from tests.procedure.sample import ADDRESS, demo_program, demo_records, plan

OWNER = Deviation(
    "telnet-enabled", ("fhw-*",), "", "N. Adeyemi", "The logger speaks nothing else.",
    date(2026, 9, 1), date(2027, 3, 31), "", "deviations.toml", 1,
)  # fmt: skip


def _card(name: str) -> Record:
    return next(record for record in demo_records() if record.card_id == name)


def _accepting(record: Record, *keys: tuple[str, str], address: str = ADDRESS) -> CardPlan:
    accepted = {(record.card_id, *key): OWNER for key in keys}
    return plan(record, Asked(address, accepted=accepted), demo_program())


def _changed(found: CardPlan) -> set[str]:
    """Return the settings that an accepted finding rests on and that the after-image has otherwise."""
    record = found.record.settings
    return {
        seen.pointer
        for finding in found.before.findings
        if (found.record.card_id, *key_of(finding)) in _accepted(found)
        for seen in finding.evidence
        if _at(record, seen.pointer) != _at(found.after_settings, seen.pointer)
    }


def _accepted(found: CardPlan) -> set[tuple[str, str, str]]:
    return {
        (found.record.card_id, *key_of(each.finding))
        for each in found.remaining
        if each.reason is Reason.ACCEPTED
    }


def _at(settings: Settings, pointer: str) -> object:
    """Return a setting; of a list whose members have settings of their own how many there are."""
    value = value_at(settings, split(pointer))
    return len(value) if isinstance(value, list) and value and isinstance(value[0], dict) else value


@pytest.mark.parametrize("address", ["", "10.40.20.7"])
def test_telnet_that_a_deviation_accepts_is_not_turned_off_by_the_mend_of_another_rule(address: str) -> None:
    """The rules of reach would close that way too."""
    found = _accepting(_card("fhw-ups-uv"), ("telnet-enabled", ""), address=address)
    assert found.after_settings["services"]["telnet"]["enabled"] is True
    assert len(found.remaining) == len(found.after.findings)
    assert list(faults(found)) == []


def test_what_can_not_be_mended_without_an_accepted_setting_remains_and_names_who_answers() -> None:
    """Without an address no filter is narrowed, so only Telnet itself would mend what rests on it."""
    found = _accepting(_card("fhw-ups-uv"), ("telnet-enabled", ""), address="")
    kept = {each.finding.rule.id: each for each in found.remaining if each.reason is Reason.RESTS_ON_ACCEPTED}
    assert list(kept) == ["outputs-heard-from-anywhere"]
    assert kept["outputs-heard-from-anywhere"].instead == (
        "Nothing until 2027-03-31: N. Adeyemi answers for it. See telnet-enabled."
    )


KEYS = sorted(map(key_of, plan(_card("fhw-ups-highlift-b"), Asked(ADDRESS), demo_program()).before.findings))


@pytest.mark.parametrize("key", KEYS, ids=" ".join)
def test_whatever_is_accepted_its_settings_stay_as_they_are(key: tuple[str, str]) -> None:
    """Each finding of a card accepted in turn; all else is planned as safely as ever."""
    found = _accepting(_card("fhw-ups-highlift-b"), key)
    assert _changed(found) == set()
    assert list(faults(found)) == []


def test_what_is_entered_beside_an_accepted_setting_by_the_same_mend_waits_with_it() -> None:
    """That a password is the delivered one is accepted: as a well-known one it is not changed either."""
    found = _accepting(_card("fhw-ups-uv"), ("password-factory-default", "/accounts/0"))
    (after, before) = (each["accounts"][0] for each in (found.after_settings, found.record.settings))
    assert after["password"] is before["password"]
    assert after.get("password_changed_on") == before.get("password_changed_on")
