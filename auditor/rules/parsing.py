"""Raw TOML conditions → conditions, checked against the record's schema and the facts.

Every fault is noted with its path, and reading goes on: an author mends a file once.
"""

from collections.abc import Mapping
from functools import cache
from typing import Any, TypeAlias

from auditor.dataclass import dataclass, replace
from auditor.facts.fact import Fact
from auditor.record.nearest import nearest
from auditor.record.pointer import join, split
from auditor.record.schema import Place, members_at, place_at
from auditor.rules.condition import AllOf, AnyOf, Condition, Leaf, Negation, Quantified, Subject
from auditor.rules.fault import Faults
from auditor.rules.fitting import faults_of_fit, faults_of_value, place_of_fact, place_of_value
from auditor.rules.operator import OPERATORS
from auditor.rules.rule import Ask, Change, VisitTime

Path: TypeAlias = tuple[str | int, ...]

_SUBJECTS = {subject.value: subject for subject in Subject}
_JOINERS = ("all_of", "any_of", "not", "every", "some")
_NEVER = AnyOf(())
"""Stands in for a condition that could not be read; its fault is noted."""


LOST_LIST = ("",)
"""Stands for the tokens of a list that could not be found: its fault is noted, and nothing more
is said of its members."""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What a condition may name. ``member_list`` is the list that ``its`` is about, or empty."""

    facts: Mapping[str, Fact]
    parameters: Mapping[str, Any]
    faults: Faults
    member_list: tuple[str, ...] = ()


def parse_condition(raw: Any, path: Path, around: Surroundings) -> Condition:  # noqa: ANN401 - TOML value
    """Return the condition; what can't be read is noted in ``around.faults``."""
    if not isinstance(raw, Mapping):
        around.faults.add(path, "expected a condition (a table)", 'Write { at = "/…", equals = … }.')
        return _NEVER
    joiner = next((word for word in _JOINERS if word in raw), None)
    if joiner in ("all_of", "any_of"):
        return _parse_parts(joiner, raw, path, around)
    if joiner == "not":
        _refuse_others(raw, {"not"}, path, around)
        return Negation(parse_condition(raw["not"], (*path, "not"), around))
    if joiner:
        return _parse_quantified(joiner, raw, path, around)
    return _parse_leaf(raw, path, around)


def _parse_parts(joiner: str, raw: Mapping[str, Any], path: Path, around: Surroundings) -> Condition:
    _refuse_others(raw, {joiner}, path, around)
    parts = raw[joiner]
    if not isinstance(parts, list) or not parts:
        around.faults.add((*path, joiner), "expected a list of conditions", "Name at least one.")
        return _NEVER
    read = tuple(parse_condition(part, (*path, joiner, index), around) for index, part in enumerate(parts))
    return AllOf(read) if joiner == "all_of" else AnyOf(read)


def _parse_quantified(joiner: str, raw: Mapping[str, Any], path: Path, around: Surroundings) -> Condition:
    _refuse_others(raw, {joiner, "meets"}, path, around)
    tokens = list_tokens(raw[joiner], (*path, joiner), around.faults)
    inner = Surroundings(around.facts, around.parameters, around.faults, tokens)
    part = parse_condition(raw.get("meets"), (*path, "meets"), inner)
    return Quantified(joiner == "every", str(raw[joiner]), tokens, part)


def list_tokens(pointer: Any, path: Path, faults: Faults) -> tuple[str, ...]:  # noqa: ANN401 - TOML value
    """Return the tokens of a pointer to a list of objects in a record, noting what is wrong.

    A list that is not there gives ``LOST_LIST``.
    """
    tokens = _record_tokens(pointer, (), path, faults)
    place = place_at(tokens) if tokens else None
    if place and (place.kind, place.item) != ("list", "object"):
        faults.add(path, f"{pointer} is not a list of objects", "Name a list, such as /accounts.")
        return LOST_LIST
    return tokens or LOST_LIST


def subject_tokens(subject: Subject, name: Any, path: Path, around: Surroundings) -> tuple[str, ...]:  # noqa: ANN401
    """Return the tokens of a setting, empty for other subjects; note a name that is not known."""
    match subject:
        case Subject.AT:
            return _record_tokens(name, (), path, around.faults)
        case Subject.ITS:
            return _member_tokens(name, path, around)
        case Subject.FACT:
            _check_fact(str(name), path, around)
        case Subject.PARAMETER:
            _check_parameter(name, path, around)
    return ()


def parse_change(raw: Mapping[str, Any], path: Path, around: Surroundings) -> Change:
    """Return the setting and the value of a mend, lists as tuples, noting what is wrong.

    ``raw`` has ``to``, and either ``at`` or ``its``. The value is a literal, or a parameter;
    of a parameter that is a list, a setting of one value takes the first.
    """
    subject, given = _subject_of(raw), raw["to"]
    if given in _VISIT_TIMES:
        subject_tokens(subject, raw[subject], (*path, subject), around)
        return Change(str(raw[subject]), VisitTime[given["visit"].upper()])
    noted = len(around.faults.found)
    value, parameter = _operand(given, (*path, "to"), around) if _is_parameter(given) else (given, "")
    tokens = subject_tokens(subject, raw[subject], (*path, subject), around)
    change = Change(str(raw[subject]), _as_operand(value), parameter)
    if len(around.faults.found) > noted:
        return change
    place = _place(subject, "", tokens, around)
    if parameter and isinstance(change.value, tuple) and place and place.kind != "list":
        change = replace(change, value=next(iter(change.value), None), is_first=True)
    for fault in faults_of_value(place, change.value, (*path, "to")) if change.value is not None else ():
        around.faults.add(fault.path, fault.problem, fault.remedy)
    return change


_VISIT_TIMES = ({"visit": "day"}, {"visit": "moment"})


def parse_new_secret(raw: Mapping[str, Any], path: Path, around: Surroundings) -> Change:
    """Return the secret to be made anew, and its least number of characters, noting what is wrong."""
    subject, given = _subject_of(raw), raw["characters"]
    tokens = subject_tokens(subject, raw[subject], (*path, subject), around)
    value, parameter = _operand(given, (*path, "characters"), around)
    if not isinstance(value, int) or isinstance(value, bool):
        remedy = "Write a whole number, or a parameter that is one."
        around.faults.add((*path, "characters"), "expected a number of characters", remedy)
    place = _place(subject, "", tokens, around) if tokens else None
    if place and place.kind != "secret":
        around.faults.add(
            (*path, subject), f"{raw[subject]} is no secret", "Name a secret, such as /password."
        )
    return Change(str(raw[subject]), value, parameter)


def parse_ask(raw: Mapping[str, Any], path: Path, around: Surroundings) -> Ask:
    """Return the setting whose value comes from the site, noting what is wrong."""
    subject = _subject_of(raw)
    subject_tokens(subject, raw[subject], (*path, subject), around)
    return Ask(str(raw[subject]), raw["what"])


def _subject_of(raw: Mapping[str, Any]) -> Subject:
    return Subject.AT if Subject.AT in raw else Subject.ITS


def _is_parameter(given: object) -> bool:
    return isinstance(given, Mapping) and set(given) == {"parameter"}


def _parse_leaf(raw: Mapping[str, Any], path: Path, around: Surroundings) -> Condition:
    subjects = [word for word in raw if word in _SUBJECTS]
    operators = [word for word in raw if word in OPERATORS]
    # "parameter" may be the subject or stand inside an operand, never both on one level.
    if len(subjects) != 1 or len(operators) != 1:
        _refuse_leaf(raw, path, around)
        return _NEVER
    _refuse_others(raw, {*subjects, *operators}, path, around)
    subject, operator = _SUBJECTS[subjects[0]], OPERATORS[operators[0]]
    name, at = raw[subject], (*path, operator.name)
    noted = len(around.faults.found)
    tokens = subject_tokens(subject, name, (*path, subject), around)
    operand, parameter = _operand(raw[operator.name], at, around)
    if len(around.faults.found) == noted:
        for fault in faults_of_fit(_place(subject, name, tokens, around), operator, operand, at):
            around.faults.add(fault.path, fault.problem, fault.remedy)
    return Leaf(subject, str(name), operator.name, operand, parameter, tokens)


def _refuse_leaf(raw: Mapping[str, Any], path: Path, around: Surroundings) -> None:
    known = (*OPERATORS, *Subject, *_JOINERS, "meets")
    unknown = [key for key in raw if key not in known]
    for key in unknown:
        around.faults.add((*path, key), f"no word {key} in a condition", nearest(key, known))
    if not unknown:
        remedy = "Name one of at, its, fact, parameter, and one comparison, such as equals."
        if "meets" in raw:
            remedy = "Name the list that meets is about, with every or some."
        around.faults.add(path, f"not a condition: {', '.join(raw) or 'empty'}", remedy)


def _place(subject: Subject, name: str, tokens: tuple[str, ...], around: Surroundings) -> Place | None:
    match subject:
        case Subject.AT:
            return _with_words_of_items(tokens)
        case Subject.ITS:
            return _with_words_of_items((*around.member_list, "0", *tokens))
        case Subject.FACT:
            return place_of_fact(around.facts[name])
        case Subject.PARAMETER:
            return place_of_value(name, around.parameters[name].value)


@cache
def _with_words_of_items(tokens: tuple[str, ...]) -> Place | None:
    """Return a place; of a list, with the words that its items may be."""
    place = place_at(tokens)
    item = place_at((*tokens, "0")) if place and place.kind == "list" else None
    return replace(place, values=item.values) if place and item else place


def _member_tokens(pointer: Any, path: Path, around: Surroundings) -> tuple[str, ...]:  # noqa: ANN401
    if not around.member_list:
        around.faults.add(path, "there is no member here", "Use its inside for_each, every or some.")
        return ()
    if around.member_list == LOST_LIST:
        return ()
    base = (*around.member_list, "0")
    return _record_tokens(pointer, base, path, around.faults)[len(base) :]


def _record_tokens(pointer: Any, base: tuple[str, ...], path: Path, faults: Faults) -> tuple[str, ...]:  # noqa: ANN401
    if not isinstance(pointer, str) or not pointer.startswith("/"):
        faults.add(path, "expected a JSON Pointer", "Write it with a slash first: /services/http.")
        return ()
    known = base
    for token in split(pointer):
        if place_at((*known, token)) is None or token.isdecimal():
            _refuse_place(known, token, path, faults)
            return ()
        known = (*known, token)
    return known


def _refuse_place(known: tuple[str, ...], token: str, path: Path, faults: Faults) -> None:
    """Note that the schema knows nothing of this name below what it knows."""
    whole = place_at(known)
    where = "/".join("(member)" if step == "0" else step for step in ("", *known))
    if whole and whole.kind == "list":
        remedy = "Look into it with every or some, and its for the member's own settings."
        faults.add(path, f"{where} is a list", remedy)
    elif whole and whole.kind != "object":
        faults.add(path, f"{where} is a {whole.kind}: nothing stands below it", f"Leave out /{token}.")
    else:
        faults.add(path, f"the record has no {token} at {where or '/'}", nearest(token, members_at(known)))


def _check_fact(name: str, path: Path, around: Surroundings) -> None:
    fact = around.facts.get(name)
    if fact is None:
        around.faults.add(path, f"no fact {name}", nearest(name, around.facts))
    elif fact.about and around.member_list != LOST_LIST and fact.about != join(around.member_list):
        around.faults.add(
            path, f"fact {name} is about members of {fact.about}", f'Use it with for_each = "{fact.about}".'
        )


def _check_parameter(name: Any, path: Path, around: Surroundings) -> None:  # noqa: ANN401 - TOML value
    if not isinstance(name, str) or name not in around.parameters:
        around.faults.add(path, f"no parameter {name}", nearest(str(name), around.parameters))


def _operand(raw: Any, path: Path, around: Surroundings) -> tuple[Any, str]:  # noqa: ANN401 - TOML value
    if not isinstance(raw, Mapping):
        return _as_operand(raw), ""
    if set(raw) != {"parameter"}:
        around.faults.add(path, "expected a value or a parameter", 'Write { parameter = "name" }.')
        return None, ""
    name = raw["parameter"]
    noted = len(around.faults.found)
    _check_parameter(name, path, around)
    if len(around.faults.found) > noted:
        return None, ""
    return _as_operand(around.parameters[name].value), name


def _as_operand(value: Any) -> Any:  # noqa: ANN401 - TOML value
    return tuple(value) if isinstance(value, list) else value


def _refuse_others(raw: Mapping[str, Any], allowed: set[str], path: Path, around: Surroundings) -> None:
    for key in raw:
        if key not in allowed:
            around.faults.add((*path, key), f"{key} does not belong here", nearest(key, allowed))
