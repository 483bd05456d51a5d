"""One step of a procedure in words: what, where, what to enter, how to verify, how to go back."""

from collections.abc import Iterator, Sequence

from auditor.dataclass import dataclass
from auditor.procedure.course import Course
from auditor.procedure.edit import Edit, EditKind
from auditor.procedure.judging import Key
from auditor.procedure.plan import Done
from auditor.procedure.step import Step, key_of
from auditor.record.schema import place_at
from auditor.report.visit_entry import Entry, entry_of, is_noted
from auditor.report.visit_words import (
    MONITORING,
    PAGES,
    QUIET,
    RECIPE_PAGES,
    RECIPE_TITLES,
    TESTED,
    page_of,
    seen_of,
)
from auditor.scoring.assessment import Finding

_PROVE_FIRST = "Log in over the new way, and keep that session open until the next way is closed and tried."
_VALUES = "The page, opened again, shows what was entered."
_OPEN = " The finding is gone when the settings are exported again and the value is right."
_PROVED = " What was made, issued or added in this step was seen to work."
_SEEN = "It was seen to work, as below, and is noted."
_SERVICES_NAMED = 4
_BACKUP = "Enter again what the backup holds."


@dataclass(frozen=True, slots=True)
class Mended:
    """A finding that a step mends, or that is gone with it; ``severity`` is 0.0 to 10.0.

    ``pointer`` and ``label`` as in a finding. ``is_consequence`` tells that only other steps
    bring it about: the audit doesn't have it.
    """

    rule: str
    title: str
    pointer: str
    label: str
    severity: float
    band: str
    is_consequence: bool


@dataclass(frozen=True, slots=True)
class StepText:
    """A step in words. ``prove`` is the way in to prove before it, where it could close one.

    ``falls_away`` are the findings that are gone with it though nothing was done for them.
    """

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
    falls_away: tuple[Mended, ...]


def step_text(number: str, done: Done, section: str, course: Course) -> StepText:
    """Return a step as it is told."""
    step = done.step
    pages = _pages(done.edits, section or RECIPE_PAGES.get(step.id, ""))
    enter = tuple(entry_of(edit, done.before) for edit in done.edits)
    texts = tuple(dict.fromkeys(finding.rule.mend.text.strip() for finding in done.needed))
    ways = tuple(str(way) for way in done.ways)
    audited = course.audited
    return StepText(
        number,
        step.id,
        title_of(step, done.needed, _services(done.edits)),
        texts or (title_of(step),),
        _where(pages),
        next((finding.label for finding in step.findings if finding.label), ""),
        enter,
        _expected(enter),
        tuple(dict.fromkeys(rule.verify.strip() for rule in step.rules)) or (_PROVE_FIRST,),
        _back(enter),
        " ".join(dict.fromkeys(_monitoring(done.edits, pages))),
        step.minutes,
        step.visit.restart,
        step.visit.cuts_access,
        step.visit.output_risk,
        step.is_consequence,
        done.prove.how_to_prove if done.prove else "",
        ways,
        tuple(_mended(finding, audited) for finding in step.findings),
        tuple(_mended(finding, audited) for finding in course.fallen.get(step.id, ())),
    )


def _mended(finding: Finding, audited: frozenset[Key]) -> Mended:
    return Mended(*told(finding), key_of(finding) not in audited)


def told(finding: Finding) -> tuple[str, str, str, str, float, str]:
    """Return what is told of every finding: rule, its title, pointer, label, severity (0.0 to 10.0), band."""
    rule, severity = finding.rule, float(finding.severity.score)
    return rule.id, rule.title, finding.pointer, finding.label, severity, str(finding.band)


def title_of(step: Step, needed: Sequence[Finding] = (), services: str = "") -> str:
    """Return what a step is called: what its worst finding asks for, in one sentence.

    ``needed`` are the findings whose mends are done, and ``services`` what they change, where
    that is known.
    """
    if step.recipes:
        return RECIPE_TITLES.get(step.id, step.id)
    worst = max(needed or step.findings, key=lambda finding: finding.severity.score, default=None)
    if worst is None:
        return step.id
    label = next((finding.label for finding in step.findings if finding.label), "")
    name = _named(label, step) if label else services
    sentence = _first_sentence(worst.rule.mend.text.strip())
    return f"{name}: {sentence[0].lower()}{sentence[1:]}" if name else sentence


def _services(edits: Sequence[Edit]) -> str:
    """Return the services that a step changes, if it changes nothing else and they are few."""
    found = dict.fromkeys(edit.tokens[:2] for edit in edits)
    if len(found) > _SERVICES_NAMED or any(tokens[0] != "services" for tokens in found):
        return ""
    return ", ".join(place.title for tokens in found if (place := place_at(tokens)))


def _named(label: str, step: Step) -> str:
    """Return how a member is called; a bare number says of what it is the number."""
    place = place_at(step.member[:1] if len(step.member) == 2 else step.member[:2])  # noqa: PLR2004 - a list at the top
    return f"{place.title}, {label}" if label.isdecimal() and place is not None else label


def _first_sentence(text: str) -> str:
    for end in (". ", "; ", ": "):
        head = text.partition(end)[0]
        if len(head) < len(text):
            return head.rstrip(".") + "."
    return text


def _pages(edits: Sequence[Edit], usual: str) -> tuple[str, ...]:
    """Return the kinds of pages where settings are entered, by their sections, in their order."""
    found = dict.fromkeys(page_of(edit.tokens) for edit in edits if not is_noted(edit))
    return tuple(found) or ((usual,) if usual else ())


def _where(pages: Sequence[str]) -> str:
    known = [PAGES[page] for page in pages if page in PAGES]
    if not known:
        return "Where the card keeps this setting."
    return f"The page or menu for {'; then that for '.join(known)}."


def _monitoring(edits: Sequence[Edit], pages: Sequence[str]) -> Iterator[str]:
    entered = [edit for edit in edits if not is_noted(edit)]
    yield from (seen_of(edit.tokens, edit.value) for edit in entered)
    if any(edit.tokens[-1] == "tested_on" for edit in edits):
        yield TESTED
    elif not entered:
        yield from [MONITORING.get(page, QUIET) for page in pages] or [QUIET]


def _expected(enter: tuple[Entry, ...]) -> str:
    if not all(entry.is_noted for entry in enter) or not enter:
        asked = any(entry.kind == EditKind.ASKED for entry in enter)
        made = any(entry.kind == EditKind.ON_PROOF and not entry.is_noted for entry in enter)
        return _VALUES + (_OPEN if asked else "") + (_PROVED if made else "")
    return _SEEN


def _back(enter: tuple[Entry, ...]) -> str:
    known = [f"{entry.setting}: {entry.before}" for entry in enter if not entry.is_noted]
    if known:
        return f"Enter again what was there. {'; '.join(known)}."
    return "Nothing was entered on the card: strike the note." if enter else _BACKUP
