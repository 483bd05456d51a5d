"""The questions of a visit, asked one by one: question out, answer in, the next question.

A pure engine: it reads no terminal, writes no file and knows no clock of its own. Every answer
is checked at once by the schema. Where it stands is the record so far and one pointer, so a
dialogue can stop anywhere and go on later.
"""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

import orjson

from auditor.dataclass import dataclass, field, replace
from auditor.errors import Fault, RecordError
from auditor.intake.partial import complete, must_have, with_value, without_value
from auditor.intake.questions import ANOTHER, next_open, sequence, spot_at
from auditor.record.cell import CellError, read_cell, read_truth, write_cell
from auditor.record.outline import Leaf
from auditor.record.pointer import join, split, value_at
from auditor.record.reading import read_record
from auditor.record.schema import SCHEMA_NAME
from auditor.record.settings import Settings
from auditor.record.visit import VISIT, Spot, as_question, is_known, path_of

BACK, FORGET, HELP, SKIP, STOP = "back", "forget", "?", "skip", "stop"
COMMANDS: Mapping[str, str] = {
    HELP: "explains the question",
    BACK: "goes to the question before",
    SKIP: "leaves the rest of this group unknown",
    FORGET: "takes an answer back: unknown again",
    STOP: "stops; go on later where you stopped",
}
"""Answers that are no answers, and what they do. In quotation marks such a word is an answer."""

FORMS: Mapping[str, str] = {
    "clear": "keep the secret itself in the record",
    "length": "keep only its number of characters",
    "crypt": "keep a crypt hash, such as $6$…",
    "localized": "keep a localized SNMP key, hexadecimal",
    "empty": "the secret is the empty text",
}
"""How a secret may be kept, as the user chooses."""

_NOT_KEPT = "What you wrote was not kept."


@dataclass(frozen=True, slots=True)
class Question:
    """One question: where it belongs, what is asked, what is allowed, and what is recorded so far.

    ``known`` is a value only where it is safe to show. A ``hidden`` question asks for a secret:
    the answer must not appear on any screen.
    """

    stop: str
    pointer: str
    place: tuple[str, ...]
    text: str
    allowed: str
    known: str
    hidden: bool = False


@dataclass(frozen=True, slots=True)
class Dialogue:
    """Where a dialogue stands.

    ``at`` is the pointer of the question, empty when nothing is left to ask. ``form`` is set
    while a secret is being typed. ``clock`` gives the answers ``now`` and ``today``.
    """

    settings: Settings = field(repr=False)
    clock: Callable[[], datetime]
    at: str = ""
    form: str = ""

    def question(self) -> Question | None:
        """Return the question that is open, or None if none is left."""
        spot = spot_at(self.settings, self.at)
        if spot is None:
            return None
        if self.form:
            text = f"Type it; it is not shown. Nothing typed: unknown. ({FORMS[self.form]})"
            return Question(_stop_of(spot), self.at, path_of(_named(spot)), text, "", "", hidden=True)
        known = _known_words(spot, self.settings)
        return Question(
            _stop_of(spot), self.at, path_of(_named(spot)), _text(spot, self.settings), _allowed(spot), known
        )

    def record(self) -> Settings:
        """Return the record so far, without members of lists that lack what they must have."""
        return {"schema": SCHEMA_NAME, **complete(self.settings)}


@dataclass(frozen=True, slots=True)
class Reply:
    """What came of an answer: where the dialogue stands now, and what to tell, never a secret."""

    dialogue: Dialogue
    said: str = ""
    stopped: bool = False


def begin(settings: Settings, clock: Callable[[], datetime], at: str = "") -> Dialogue:
    """Return a dialogue about what settings leave unknown, from the pointer at which one stopped.

    A pointer to a member that is not there leads to the question whether there is one; a pointer
    to no question at all leads to the first open one.

    Raises:
        ValueError: if ``at`` is no JSON Pointer.
    """
    own = {name: value for name, value in settings.items() if name != "schema"}
    tokens = split(at)
    lists = [join((*tokens[:size], ANOTHER)) for size in range(len(tokens) - 1, 0, -1)]
    start = next((pointer for pointer in (at, *lists) if spot_at(own, pointer)), "")
    return Dialogue(own, clock, start or next_open(own, ""))


def answer(dialogue: Dialogue, text: str) -> Reply:
    """Return what comes of an answer; one that can't be used changes nothing but says why."""
    spot = spot_at(dialogue.settings, dialogue.at)
    if spot is None:
        return Reply(dialogue, stopped=True)
    if dialogue.form:
        return _typed(dialogue, spot, text)
    command = _COMMANDED.get(text.strip().casefold())
    return command(dialogue, spot) if command else _said(dialogue, spot, text)


def _said(dialogue: Dialogue, spot: Spot, text: str) -> Reply:
    if spot.tokens[-1] == ANOTHER:
        return _another(dialogue, spot, text)
    if spot.leaf.kind == "secret":
        return _chosen(dialogue, spot, text.strip().casefold())
    return _answered(dialogue, spot, text)


def converse(
    dialogue: Dialogue,
    ask: Callable[[Question], str | None],
    tell: Callable[[str], None],
    save: Callable[[Dialogue], None],
) -> Dialogue:
    """Hold a dialogue until nothing is left to ask or it is stopped; save after each answer.

    ``ask`` returns None where there are no more answers.
    """
    while (question := dialogue.question()) is not None:
        text = ask(question)
        reply = Reply(dialogue, stopped=True) if text is None else answer(dialogue, text)
        if reply.dialogue is not dialogue:
            save(reply.dialogue)
        dialogue = reply.dialogue
        if reply.said:
            tell(reply.said)
        if reply.stopped:
            break
    return dialogue


def _answered(dialogue: Dialogue, spot: Spot, text: str) -> Reply:
    try:
        value = read_cell(spot.leaf, _in_time(dialogue, spot.leaf, text))
    except CellError as error:
        return _refused(dialogue, error.problem, error.remedy)
    return _put(dialogue, spot, value)


def _in_time(dialogue: Dialogue, leaf: Leaf, text: str) -> str:
    word = text.strip().casefold()
    if leaf.format == "date-time" and word == "now":
        return dialogue.clock().isoformat(timespec="seconds")
    if leaf.format == "date" and word == "today":
        return dialogue.clock().date().isoformat()
    return text


def _put(dialogue: Dialogue, spot: Spot, value: Any) -> Reply:  # noqa: ANN401 - any JSON value
    """Put a value if the schema allows it there, and go on."""
    settings = with_value(dialogue.settings, spot.tokens, value)
    fault = _departure(settings, join(spot.tokens))
    if fault:
        return _refused(dialogue, fault.problem, fault.remedy)
    return Reply(_gone_on(replace(dialogue, settings=settings, form="")))


def _refused(dialogue: Dialogue, problem: str, remedy: str) -> Reply:
    return Reply(dialogue, f"{problem[0].upper()}{problem[1:]}.\n  {remedy}")


def _departure(settings: Settings, pointer: str) -> Fault | None:
    record = {"schema": SCHEMA_NAME, **complete(settings)}
    try:
        read_record(orjson.dumps(record), "")
    except RecordError as error:
        return next((fault for fault in error.faults if fault.pointer.startswith(pointer)), error.faults[0])
    return None


def _unknown(dialogue: Dialogue, spot: Spot) -> Reply:
    if must_have(spot) and not is_known(spot, dialogue.settings):
        return Reply(dialogue, f"Each one needs this. Write it, or {FORGET} to leave this one out.")
    return Reply(_gone_on(dialogue))


def _another(dialogue: Dialogue, spot: Spot, text: str) -> Reply:
    try:
        more = read_truth(text)
    except CellError as error:
        return _refused(dialogue, error.problem, error.remedy)
    members = value_at(dialogue.settings, spot.tokens[:-1]) or []
    settings = with_value(dialogue.settings, spot.tokens[:-1], [*members, {}] if more else members)
    if not more:
        return Reply(_gone_on(replace(dialogue, settings=settings)))
    new = (*spot.tokens[:-1], str(len(members)))
    first = next(one for one in sequence(settings) if one.tokens[: len(new)] == new)
    return Reply(replace(dialogue, settings=settings, at=join(first.tokens)))


def _chosen(dialogue: Dialogue, spot: Spot, word: str) -> Reply:
    if word == "empty":
        return _put(dialogue, spot, {"empty": True})
    if word in FORMS:
        return Reply(replace(dialogue, form=word))
    return Reply(
        dialogue, f"{_NOT_KEPT} Choose how to keep the secret: {', '.join(FORMS)}. Then you type it unseen."
    )


def _typed(dialogue: Dialogue, spot: Spot, text: str) -> Reply:
    if not text:
        return Reply(_gone_on(replace(dialogue, form="")))
    form = "clear" if dialogue.form == "length" else dialogue.form
    reply = _put(dialogue, spot, {form: text})
    if reply.said:
        return Reply(replace(dialogue, form=""), f"{reply.said}\n  {_NOT_KEPT}")
    if dialogue.form == "length":
        return _put(dialogue, spot, {"sealed": {"length": len(text)}})
    return reply


def _helped(dialogue: Dialogue, spot: Spot) -> Reply:
    lines = [as_question(spot.leaf), f"Allowed: {_allowed(spot)}."]
    if spot.leaf.kind == "secret":
        lines += [f"{form}: {meaning}." for form, meaning in FORMS.items()]
    lines += [f"{command} {effect}." for command, effect in COMMANDS.items()]
    return Reply(dialogue, "\n".join([*lines, "Nothing: unknown."]))


def _went_back(dialogue: Dialogue, spot: Spot) -> Reply:
    before = ""
    for one in sequence(dialogue.settings):
        if one.tokens == spot.tokens:
            break
        before = join(one.tokens)
    return Reply(replace(dialogue, at=before)) if before else Reply(dialogue, "This is the first question.")


def _skipped(dialogue: Dialogue, spot: Spot) -> Reply:
    if must_have(spot) and not is_known(spot, dialogue.settings):
        return _unknown(dialogue, spot)
    group = spot.tokens[:-1]
    inside = [one for one in sequence(dialogue.settings) if one.tokens[: len(group)] == group]
    return Reply(_gone_on(replace(dialogue, at=join(inside[-1].tokens))))


def _forgotten(dialogue: Dialogue, spot: Spot) -> Reply:
    """Take a setting back; of a member that has not yet what it must have, the whole member."""
    settings = dialogue.settings
    if spot.tokens[-1] == ANOTHER:
        return Reply(
            replace(dialogue, settings=without_value(settings, spot.tokens[:-1])),
            "The whole list is unknown again.",
        )
    if not must_have(spot):
        return Reply(replace(dialogue, settings=without_value(settings, spot.tokens)), "Unknown again.")
    if is_known(spot, settings):
        return Reply(dialogue, "Each one needs this: write another answer instead.")
    members = value_at(settings, spot.tokens[:-2])
    left = [member for index, member in enumerate(members) if index != int(spot.tokens[-2])]
    settings = (
        with_value(settings, spot.tokens[:-2], left) if left else without_value(settings, spot.tokens[:-2])
    )
    return Reply(
        replace(dialogue, settings=settings, at=join((*spot.tokens[:-2], ANOTHER))), "This one is left out."
    )


def _stopped(dialogue: Dialogue, _: Spot) -> Reply:
    return Reply(dialogue, stopped=True)


_COMMANDED: Mapping[str, Callable[[Dialogue, Spot], Reply]] = {
    "": _unknown,
    HELP: _helped,
    BACK: _went_back,
    SKIP: _skipped,
    FORGET: _forgotten,
    STOP: _stopped,
}


def _gone_on(dialogue: Dialogue) -> Dialogue:
    return replace(dialogue, at=next_open(dialogue.settings, dialogue.at))


def _named(spot: Spot) -> Spot:
    return Spot(spot.leaf, spot.tokens[:-1]) if spot.tokens[-1] == ANOTHER else spot


def _stop_of(spot: Spot) -> str:
    place = _named(spot)
    sections = ((stop, section) for stop in VISIT for section in stop.sections)
    return next(stop.title for stop, section in sections if place.tokens[: len(section)] == section)


def _text(spot: Spot, settings: Settings) -> str:
    if spot.tokens[-1] != ANOTHER:
        return as_question(spot.leaf)
    count = len(value_at(settings, spot.tokens[:-1]) or ())
    return f"{spot.leaf.description} {f'Is there another? ({count} so far)' if count else 'Is there one?'}"


def _allowed(spot: Spot) -> str:
    if spot.tokens[-1] == ANOTHER:
        return "yes or no"
    if spot.leaf.kind == "secret":
        return ", ".join(FORMS)
    moment = {"date-time": ", or now", "date": ", or today"}.get(spot.leaf.format, "")
    unit = f" {spot.leaf.unit}" if spot.leaf.unit else ""
    return f"{spot.leaf.allowed}{unit}{moment}"


def _known_words(spot: Spot, settings: Settings) -> str:
    value = value_at(settings, spot.tokens) if spot.tokens[-1] != ANOTHER else None
    if value is None:
        return ""
    return write_cell(spot.leaf, value) if spot.leaf.shown or spot.leaf.kind == "sources" else "recorded"
