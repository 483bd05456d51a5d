"""Plans of cards of which much is not known: sections of one demo card in another, settings left out."""

import random
from collections.abc import Iterator
from typing import Any

import orjson
import pytest

from auditor.errors import RecordError
from auditor.procedure.edit import APPEND, Edit, edited
from auditor.procedure.left_out import Reason
from auditor.procedure.plan import Asked
from auditor.record.reading import Record, read_record
from tests.procedure.promises import faults, has_record_after, once_more
from tests.procedure.sample import ADDRESS, compliant, demo_program, demo_records, plan

CARDS = 40
FROM = ("", ADDRESS, "192.0.2.9")


def mixed(dice: random.Random) -> Iterator[Record]:
    """Yield cards that no one card of the estate is, those that the schema allows."""
    while True:
        card, other = (orjson.loads(dice.choice(demo_records()).text.reveal()) for _ in range(2))
        card.update({name: other[name] for name in other if name not in _KEPT and dice.random() < 0.4})
        for _ in range(dice.choice([0, 1, 3, 10, 30])):
            _forget(card, dice)
        try:
            yield read_record(orjson.dumps(card), "card.json")
        except RecordError:
            continue


_KEPT = ("schema", "card")


def _forget(card: dict[str, Any], dice: random.Random) -> None:
    places = [place for place in _places(card, ()) if place[0] not in _KEPT]
    if places:
        *way, last = dice.choice(places)
        holder: Any = card
        for token in way:
            holder = holder[token]
        del holder[last]


def _places(value: Any, at: tuple[Any, ...]) -> Iterator[tuple[Any, ...]]:
    members = value.items() if isinstance(value, dict) else enumerate(value)
    for token, inner in members:
        yield (*at, token)
        if isinstance(inner, dict | list):
            yield from _places(inner, (*at, token))


def test_plans_of_cards_of_which_much_is_unknown_keep_what_they_promise() -> None:
    """Order, ways in, promises, nothing new, a second plan that is empty; and every after-image is a record.

    Where so much is unknown that steps are left out for the coverage alone, a second plan may do
    more: what the first did may have made room.
    """
    dice = random.Random(5)  # noqa: S311 - made-up data
    broken: list[object] = []
    for _, record in zip(range(CARDS), mixed(dice), strict=False):
        asked = Asked(dice.choice(FROM))
        found = plan(record, asked, demo_program())
        broken += [(record.card_id, fault) for fault in faults(found)]
        assert has_record_after(found), record.card_id
        if not any("coverage-low" in left.detail for left in found.refused):
            broken += [(record.card_id, name) for name in once_more(found, asked).graph.steps]
    assert broken == []


@pytest.mark.parametrize("token", ["0", APPEND])
def test_a_change_of_a_list_that_was_not_captured_changes_nothing(token: str) -> None:
    """It may have members that nobody knows: no list is made, and no object in its place."""
    record = {"time": {"source": "ntp"}}
    assert edited(record, [Edit(("time", "servers", token, "host"), "192.0.2.1")]) == record


def test_of_what_is_not_known_no_step_is_made_that_could_touch_the_output_or_close_a_way() -> None:
    """The smallest record there is: its load and its services are to be read off first."""
    smallest = read_record(b'{"schema": "witnessmark/card-1", "card": {"id": "north-a-ups-01"}}', "card.json")
    found = plan(smallest)
    assert [step.id for step in found.graph.steps.values() if step.visit.output_risk] == []
    assert [step.id for step in found.graph.steps.values() if step.visit.cuts_access] == []
    assert "shutdown" not in found.after_settings
    left = {each.finding.rule.id: each.reason for each in found.remaining}
    assert left["remote-switching-of-life-safety"] is Reason.NOT_CAPTURED
    assert left["telnet-enabled"] is Reason.NOT_CAPTURED


def test_the_return_by_the_reset_button_stays_while_no_way_in_is_certain() -> None:
    """It may be the last way back; where one is certain it goes, and that one is proved first."""
    button = {"enabled": True, "restores_factory_credentials": True}
    card = {"schema": "witnessmark/card-1", "card": {"id": "a"}, "maintenance": {"reset_button": button}}
    found = plan(read_record(orjson.dumps(card), "card.json"))
    assert [(left.step.id, left.reason) for left in found.refused] == [("reset-button", Reason.NO_WAY)]
    assert found.after_settings["maintenance"]["reset_button"] == button
    known = plan(compliant({"maintenance/reset_button": button}))
    assert known.done["reset-button"].prove is not None
    assert known.after_settings["maintenance"]["reset_button"]["restores_factory_credentials"] is False
