"""One step of a procedure in words: what, where, what to enter, how to verify, how to go back."""

from collections.abc import Iterator
from dataclasses import dataclass

from auditor.procedure.edit import APPEND, Edit, EditKind
from auditor.procedure.plan import Done
from auditor.procedure.step import Step
from auditor.record.pointer import value_at
from auditor.record.schema import place_at
from auditor.record.settings import Settings
from auditor.report.visit_words import MONITORING, PAGES, QUIET, RECIPE_PAGES, RECIPE_TITLES
from auditor.rules.evidence import is_shown, value_text

_PROVE_FIRST = "Log in over the new way, and keep that session open until the next way is closed and tried."
_VALUES = "The page, opened again, shows what was entered."


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing to enter: the setting, the value or how to come by it, and what was there before.

    ``kind`` is an ``EditKind``. No text holds a secret.
    """

    pointer: str
    setting: str
    value: str
    before: str
    kind: str


@dataclass(frozen=True, slots=True)
class Mended:
    """A finding that a step mends; ``severity`` is 0.0 to 10.0."""

    rule: str
    title: str
    severity: float
    band: str


@dataclass(frozen=True, slots=True)
class StepText:
    """A step in words. ``prove`` is the way in to prove before it, where it could close one."""

    number: str
    id: str
    title: str
    what: tuple[str, ...]
    where: str
    about: str
    enter: tuple[Entry, ...]
    expected: str
    verify: tuple[str, ...]
    back: str
    monitoring: str
    minutes: int
    restart: bool
    cuts_access: bool
    output_risk: bool
    is_consequence: bool
    prove: str
    ways_after: tuple[str, ...]
    mends: tuple[Mended, ...]


def step_text(number: str, done: Done, section: str) -> StepText:
    """Return a step as it is told."""
    step = done.step
    page = section or RECIPE_PAGES.get(step.id, "")
    enter = tuple(_entry(edit, done.before) for edit in done.edits)
    texts = tuple(dict.fromkeys(rule.mend.text.strip() for rule in step.rules))
    ways = tuple(str(way) for way in done.ways)
    return StepText(
        number,
        step.id,
        title_of(step),
        texts or (title_of(step),),
        f"The page or menu for {PAGES[page]}." if page in PAGES else "Where the card keeps this setting.",
        next((finding.label for finding in step.findings if finding.label), ""),
        enter,
        _expected(enter),
        tuple(dict.fromkeys(rule.verify.strip() for rule in step.rules)) or (_PROVE_FIRST,),
        _back(enter),
        MONITORING.get(page, QUIET),
        step.minutes,
        step.visit.restart,
        step.visit.cuts_access,
        step.visit.output_risk,
        step.is_consequence,
        ways[0] if step.visit.cuts_access and ways else "",
        ways,
        tuple(Mended(f.rule.id, f.rule.title, float(f.severity.score), str(f.band)) for f in step.findings),
    )


def title_of(step: Step) -> str:
    """Return what a step is called: what its worst finding asks for, in one sentence."""
    if step.recipes:
        return RECIPE_TITLES.get(step.id, step.id)
    worst = max(step.findings, key=lambda finding: finding.severity.score, default=None)
    if worst is None:
        return step.id
    label = next((finding.label for finding in step.findings if finding.label), "")
    sentence = _first_sentence(worst.rule.mend.text.strip())
    return f"{label}: {sentence[0].lower()}{sentence[1:]}" if label else sentence


def _first_sentence(text: str) -> str:
    for end in (". ", "; ", ": "):
        head = text.partition(end)[0]
        if len(head) < len(text):
            return head.rstrip(".") + "."
    return text


def _entry(edit: Edit, before: Settings) -> Entry:
    return Entry(edit.pointer, _setting(edit), _value(edit), _former(edit, before), str(edit.kind))


def _setting(edit: Edit) -> str:
    """Return the titles of the schema on the way to a setting, with the place in a list from 1."""
    return ": ".join(_titles(edit.tokens))


def _titles(tokens: tuple[str, ...]) -> Iterator[str]:
    for depth in range(1, len(tokens) + 1):
        token = tokens[depth - 1]
        place = place_at(tuple("0" if each == APPEND else each for each in tokens[:depth]))
        if token == APPEND:
            yield "new"
        elif token.isdecimal():
            yield f"number {int(token) + 1}"
        elif place is not None and place.title:
            yield place.title


def _value(edit: Edit) -> str:
    if edit.note:
        return edit.note
    return value_text(edit.value) if is_shown(edit.pointer) else "as described"


def _former(edit: Edit, before: Settings) -> str:
    place = place_at(tuple("0" if token == APPEND else token for token in edit.tokens))
    if edit.tokens[-1] == APPEND:
        return "not there"
    value = value_at(before, edit.tokens)
    if place is not None and place.kind == "secret":
        return "the former secret, from the site's store"
    if value is None:
        return "not captured: note it before the change"
    return value_text(value) if is_shown(edit.pointer) else "as in the backup"


def _expected(enter: tuple[Entry, ...]) -> str:
    proofs = [entry.value for entry in enter if entry.kind == EditKind.ON_PROOF]
    if any(entry.kind == EditKind.ASKED for entry in enter):
        return f"{_VALUES} The finding is gone when the settings are exported again and the value is right."
    return f"{_VALUES} What is dated or issued in this step was seen to work." if proofs else _VALUES


def _back(enter: tuple[Entry, ...]) -> str:
    known = [f"{entry.setting}: {entry.before}" for entry in enter]
    return (
        f"Enter again what was there. {'; '.join(known)}." if known else "Enter again what the backup holds."
    )
