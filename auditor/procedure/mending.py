"""From a finding to the changes that mend it, as its rule says; decides no order."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from auditor.procedure.bench import Bench
from auditor.procedure.edit import Edit, EditKind
from auditor.procedure.new_secret import new_secret
from auditor.procedure.recipe.catalogue import RECIPES
from auditor.record.pointer import split, value_at
from auditor.record.settings import Settings
from auditor.rules.rule import Change, Rule, VisitTime

_PROVED: Final = {
    VisitTime.DAY: "the day of the visit, once it was seen to work",
    VisitTime.MOMENT: "as it reads at the visit, all clocks at the same moment",
}


def has_mend(rule: Rule) -> bool:
    """Return whether a rule says what the settings are after its mend."""
    mend = rule.mend
    return bool(mend.settings or mend.new_secrets or mend.asks or mend.recipe)


def edits_for(rule: Rule, member: tuple[str, ...], record: Settings, bench: Bench) -> Iterator[Edit]:
    """Yield the changes that mend a finding at a member of a list, or on the card (no tokens)."""
    if rule.mend.recipe:
        yield from RECIPES[rule.mend.recipe](record, member, bench)
    for change in rule.mend.settings:
        yield from _set(change, member, record, bench)
    for secret in rule.mend.new_secrets:
        yield new_secret(bench.card_id, (*member, *split(secret.pointer)), secret.value)
    for ask in rule.mend.asks:
        yield Edit((*member, *split(ask.pointer)), kind=EditKind.ASKED, note=ask.what)


def unknown_after(departed: Mapping[str, Any]) -> Iterator[Edit]:
    """Yield the changes of a mend that is told in words alone: what it changes is then unknown.

    ``departed`` are the settings that the finding rests on, by pointer, with their requirement.
    """
    for pointer, what in departed.items():
        yield Edit(split(pointer), kind=EditKind.ASKED, note=what)


def _set(change: Change, member: tuple[str, ...], record: Settings, bench: Bench) -> Iterator[Edit]:
    tokens = (*member, *split(change.pointer))
    if isinstance(change.value, VisitTime):
        moment = bench.context.as_of
        text = moment.date().isoformat() if change.value is VisitTime.DAY else moment.isoformat()
        yield Edit(tokens, text, EditKind.ON_PROOF, _PROVED[change.value])
    elif value_at(record, tokens) != (value := _plain(change.value)):
        yield Edit(tokens, value)


def _plain(value: Any) -> Any:  # noqa: ANN401 - a TOML value, lists frozen
    return list(value) if isinstance(value, tuple) else value
