"""Names and files that a user chose → rulesets, tailoring and crosswalks, ready to judge."""

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from auditor.dataclass import replace
from auditor.errors import Fault, RulesetError
from auditor.facts.catalogue import FACTS
from auditor.record.nearest import nearest
from auditor.rules.loading import load_ruleset, read_toml
from auditor.rules.program import Program, make_program
from auditor.rules.ready import ready_ruleset
from auditor.rules.rule import Parameter, Ruleset
from auditor.rules.shipped import CROSSWALKS, shipped_crosswalk, shipped_ruleset, shipped_rulesets
from auditor.rules.tailoring import DEFAULT_RULESETS, SiteFile, Tailoring, raise_shape, read_site_file, tailor
from auditor.rules.word_list import NO_WORDS, WordList, read_word_list

if TYPE_CHECKING:
    from auditor.intake.mapping.language import Map
    from auditor.rules.crosswalk import Crosswalk


_Read = TypeVar("_Read")


def load_program(rulesets: Sequence[str] = (), site: str | None = None) -> Program:
    """Return the program of some rulesets and a site's tailoring.

    ``rulesets`` are names of shipped rulesets or paths of TOML files; none means those that
    the site names, or else the shipped ones. ``site`` is the path of a ``witnessmark.toml``;
    rulesets that it names by path, and its list of words, lie relative to it.

    Raises:
        RulesetError: with every fault of the site's file, of its words and of the first ruleset
            that has any.
    """
    if site is None:
        loaded = load_rulesets(rulesets or DEFAULT_RULESETS)
        return make_program(loaded, Tailoring(), FACTS)
    choices = read_site_file(_read(site), site)
    folder = Path(site).parent
    wanted = (
        partial(load_rulesets, rulesets) if rulesets else partial(load_rulesets, choices.rulesets, folder)
    )
    return make_program(*_held_together(choices, wanted, folder), FACTS)


def _held_together(
    choices: SiteFile, wanted: Callable[[], tuple[Ruleset, ...]], folder: Path
) -> tuple[tuple[Ruleset, ...], Tailoring]:
    """Return rulesets and what a site makes of them; what is wrong with any file is told at once."""
    of_rulesets: list[Fault] = []
    found: list[Fault] = []
    loaded = _noting(of_rulesets, wanted)
    if loaded is None:
        # Without its rulesets nobody can say what else of the file is meant: its shape alone is told.
        tailoring = _noting(found, partial(raise_shape, choices))
    else:
        tailoring = _noting(found, partial(tailor, choices, loaded, FACTS))
    words = _noting(found, partial(_word_list, choices.word_list, folder))
    if loaded is None or tailoring is None or words is None:
        raise RulesetError([*found, *of_rulesets])
    return loaded, replace(tailoring, word_list=words)


def _noting(found: list[Fault], read: Callable[[], _Read]) -> _Read | None:
    """Return what is read, or None with the faults of its file noted."""
    try:
        return read()
    except RulesetError as error:
        found.extend(error.faults)
        return None


def _word_list(name: str, folder: Path) -> WordList:
    if not name:
        return NO_WORDS
    path = str(folder / name)
    return read_word_list(_read(path), path)


def load_word_list(site: str) -> WordList:
    """Return the site's own words; none where its file names no list.

    Raises:
        RulesetError: with every fault of the site's file, or else of the list.
    """
    return load_program((), site).tailoring.word_list


def load_rulesets(names: Sequence[str], folder: Path = Path()) -> tuple[Ruleset, ...]:
    """Return rulesets by name or path; later ones may name parameters of earlier ones.

    Raises:
        RulesetError: if one is unknown, can't be read, or has faults.
    """
    loaded: list[Ruleset] = []
    parameters: dict[str, Parameter] = {}
    for name in names:
        ruleset = _load_ruleset(name, folder, parameters)
        _refuse_twice(ruleset, loaded)
        loaded.append(ruleset)
        parameters.update(ruleset.parameters)
    return tuple(loaded)


def _refuse_twice(ruleset: Ruleset, loaded: Sequence[Ruleset]) -> None:
    first = next((each for each in loaded if each.name == ruleset.name), None)
    if first is not None:
        problem = f"ruleset {ruleset.name} is given twice, first as {first.file}"
        raise RulesetError([Fault(ruleset.file, "", 0, 0, problem, "Name it once.")])


def load_map_file(path: str) -> "Map":
    """Return the map in a file.

    Raises:
        InputError: if it can't be read, with every fault.
    """
    from auditor.intake.mapping.loading import load_map  # only an import by map needs it

    return load_map(_read(path), path)


def load_crosswalks() -> tuple["Crosswalk", ...]:
    """Return the shipped crosswalks."""
    from auditor.rules.crosswalk import load_crosswalk  # many runs need none

    return tuple(load_crosswalk(*shipped_crosswalk(name)) for name in CROSSWALKS)


def _load_ruleset(name: str, folder: Path, known: Mapping[str, Parameter]) -> Ruleset:
    if "/" in name or name.endswith(".toml"):
        path = str(folder / name)
        return load_ruleset(_read(path), path, FACTS, known)
    if name not in shipped_rulesets():
        fault = Fault(name, "", 0, 0, "no ruleset of that name is shipped", nearest(name, shipped_rulesets()))
        raise RulesetError([fault])
    text, file = shipped_ruleset(name)
    return ready_ruleset(name, text) or load_ruleset(text, file, FACTS, known)


def _read(path: str) -> bytes:
    try:
        return Path(path).read_bytes()
    except OSError as error:
        problem = f"can't be read: {(error.strerror or 'unknown fault').lower()}"
        raise RulesetError([Fault(path, "", 0, 0, problem, "Check the path and its permissions.")]) from error


def check_rules_file(path: str) -> str:
    """Check a ruleset, or a site's own file, and say what it holds.

    Rules may name parameters of the shipped rulesets, as they may in an audit. A file that has
    the name of a shipped ruleset is checked as if it stood in its place.

    Raises:
        RulesetError: with every fault of the file.
    """
    text = _read(path)
    document = read_toml(text, path)
    if "ruleset" not in document:
        program = load_program((), path)
        own = _count(len(program.tailoring.rules), "own rule")
        words = len(program.tailoring.word_list.written)
        listed = f", {_count(words, 'own word')}" if words else ""
        return f"{path}: good. {own}, {_changes(program.tailoring)}{listed}."
    shipped = [each for each in load_rulesets(DEFAULT_RULESETS) if each.name != _name_of(document)]
    known = {name: p for ruleset in shipped for name, p in ruleset.parameters.items()}
    ruleset = load_ruleset(text, path, FACTS, known)
    make_program([*shipped, ruleset], Tailoring(), FACTS)
    rules, parameters = _count(len(ruleset.rules), "rule"), _count(len(ruleset.parameters), "parameter")
    return f"{path}: good. {rules}, {parameters}."


def _name_of(document: Mapping[str, Any]) -> object:
    head = document["ruleset"]
    return head.get("name") if isinstance(head, dict) else None


def _changes(tailoring: Tailoring) -> str:
    changed = _count(len(tailoring.parameters), "parameter")
    return f"{changed} changed, {_count(len(tailoring.deselected), 'rule')} set aside"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
