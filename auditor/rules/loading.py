"""TOML text → rulesets, every fault worded with file, line and what to do. Opens no files."""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import Any, Final

import jsonschema_rs
import orjson

from auditor.errors import Fault, InputError, RulesetError
from auditor.facts.fact import Fact
from auditor.packaged import packaged
from auditor.record.pointer import join
from auditor.record.toml_text import parse_toml
from auditor.rules.condition import Condition
from auditor.rules.fault import Faults, RuleFault
from auditor.rules.fitting import faults_of_document
from auditor.rules.parsing import (
    Surroundings,
    list_tokens,
    parse_ask,
    parse_change,
    parse_condition,
    parse_new_secret,
)
from auditor.rules.placeholder import check_placeholders
from auditor.rules.rule import Mend, Parameter, Rule, Ruleset, Visit
from auditor.scoring.ccss import VectorError, parse_vector


def load_ruleset(
    text: bytes, file: str, facts: Mapping[str, Fact], known: Mapping[str, Parameter] | None = None
) -> Ruleset:
    """Return the ruleset that a TOML file holds.

    ``known`` are parameters of other rulesets that its rules may name.

    Raises:
        RulesetError: with every fault of the file, in file order.
    """
    document = read_toml(text, file)
    faults = Faults(faults_of_shape(document, ruleset_schema()))
    if faults.spoil("ruleset", "rule") or faults.stand_in(("parameters",)):
        # Rules that name a parameter which can't be read would have faults that are none.
        raise_faults(faults.found, text, file)
    parameters = read_parameters(document.get("parameters", {}))
    rules = read_rules(document, file, facts, {**(known or {}), **parameters}, faults)
    raise_faults(faults.found, text, file)
    head = document["ruleset"]
    digest = hashlib.sha256(text).hexdigest()
    return Ruleset(head["name"], head["title"], head["version"], parameters, rules, file, digest)


def read_toml(text: bytes, file: str) -> dict[str, Any]:
    """Return the document of a TOML file.

    Raises:
        RulesetError: if the text is not UTF-8 or not TOML, or holds values that no setting can have.
    """
    try:
        document = parse_toml(text, file)
    except InputError as error:
        raise RulesetError(error.faults) from error
    if not _is_plain(document):
        raise_faults(faults_of_document(document), text, file)
    return document


def _is_plain(document: Mapping[str, Any]) -> bool:
    """Tell, in much less time than looking at each value takes, that all are of JSON's kinds."""
    try:
        return b"null" not in orjson.dumps(document, option=orjson.OPT_PASSTHROUGH_DATETIME)
    except (TypeError, orjson.JSONEncodeError):  # a time, or a number of too many digits
        return False


def check_document(document: Mapping[str, Any], schema: Mapping[str, Any], text: bytes, file: str) -> None:
    """Check the shape of a TOML document against a schema.

    Raises:
        RulesetError: with every fault of shape.
    """
    raise_faults(faults_of_shape(document, schema), text, file)


def faults_of_shape(document: Mapping[str, Any], schema: Mapping[str, Any]) -> list[RuleFault]:
    """Return every departure of a TOML document from a schema, in the schema's order."""
    if _validator(orjson.dumps(schema)).is_valid(document):
        return []
    from auditor.record.wording import describe_errors  # slow import, needed for faults only

    return [
        RuleFault(tuple(path), problem, remedy) for path, problem, remedy in describe_errors(document, schema)
    ]


@cache
def _validator(schema: bytes) -> jsonschema_rs.Draft202012Validator:
    return jsonschema_rs.Draft202012Validator(orjson.loads(schema), validate_formats=True)


@cache
def ruleset_schema() -> Mapping[str, Any]:
    """Return the JSON Schema of a ruleset."""
    return read_schema("ruleset-1.schema.json")


def read_schema(name: str) -> Mapping[str, Any]:
    """Return one of the JSON Schemas beside this file."""
    schema: Mapping[str, Any] = orjson.loads(packaged("rules", name).read_bytes())
    return schema


def raise_faults(found: Sequence[RuleFault], text: bytes, file: str) -> None:
    """Raise the faults found, if any, each with its line, in file order.

    Raises:
        RulesetError: if there is a fault.
    """
    if not found:
        return
    from auditor.record.toml_place import line_of  # slow import, needed for faults only

    lines = text.decode("utf-8")
    faults = [Fault(file, join(f.path), line_of(lines, f.path), 0, f.problem, f.remedy) for f in found]
    raise RulesetError(sorted(faults, key=lambda fault: fault.line))


def read_parameters(raw: Mapping[str, Any]) -> dict[str, Parameter]:
    """Return the parameters of a document that has the shape of the schema."""
    return {
        name: Parameter(name, table["value"], table.get("unit", ""), table["meaning"], table["source"])
        for name, table in raw.items()
    }


def read_rules(
    document: Mapping[str, Any], file: str, facts: Mapping[str, Fact],
    parameters: Mapping[str, Parameter], faults: Faults,
) -> tuple[Rule, ...]:  # fmt: skip
    """Return the rules of a document that have the shape of the schema, noting other faults."""
    around = Surroundings(facts, parameters, faults)
    owner = document.get("ruleset", {}).get("name", "site")
    rules: list[Rule] = []
    ids: set[str] = set()
    for index, raw in enumerate(document.get("rule", ())):
        path = ("rule", index)
        if faults.stand_in(path):
            _check_parts(raw, path, around)
            continue
        if raw["id"] in ids:
            faults.add((*path, "id"), f"a second rule {raw['id']}", "Give each rule its own id.")
        ids.add(raw["id"])
        rules.append(_read_rule(raw, path, around, owner, file))
    return tuple(rules)


def _check_parts(raw: Any, path: tuple[str | int, ...], around: Surroundings) -> None:  # noqa: ANN401 - JSON
    """Note what is wrong within those parts of a rule that have the shape of the schema, if others do not."""
    faults = around.faults
    if not isinstance(raw, Mapping) or faults.stand_in((*path, "for_each")):
        return
    sound = {key for key in raw if not faults.stand_in((*path, key))}
    tokens = list_tokens(raw["for_each"], (*path, "for_each"), faults) if "for_each" in sound else ()
    inner = Surroundings(around.facts, around.parameters, faults, tokens)
    for key in ("applies_when", "require"):
        if key in sound:
            parse_condition(raw[key], (*path, key), inner)
    if "severity" in sound:
        _check_vector(raw["severity"]["vector"], (*path, "severity", "vector"), faults)
    if "mend" in sound:
        _read_mend(raw["mend"], (*path, "mend"), inner)
    check_placeholders(_texts({key: raw[key] for key in sound}, path), around.parameters, faults)


def _read_rule(
    raw: Mapping[str, Any], path: tuple[str | int, ...], around: Surroundings, owner: str, file: str
) -> Rule:
    each = raw.get("for_each", "")
    tokens = list_tokens(each, (*path, "for_each"), around.faults) if each else ()
    inner = Surroundings(around.facts, around.parameters, around.faults, tokens)
    check_placeholders(_texts(raw, path), around.parameters, around.faults)
    applies = _optional(raw, "applies_when", path, inner)
    require = parse_condition(raw["require"], (*path, "require"), inner)
    _check_vector(raw["severity"]["vector"], (*path, "severity", "vector"), around.faults)
    return Rule(
        id=raw["id"],
        title=raw["title"],
        family=raw["family"],
        for_each=each,
        for_each_tokens=tokens,
        applies_when=applies,
        require=require,
        unknown_matters=raw.get("unknown_matters", False),
        judges_evidence=raw.get("judges_evidence", False),
        vector=raw["severity"]["vector"],
        vector_because=raw["severity"]["because"],
        why=raw["why"],
        mend=_read_mend(raw["mend"], (*path, "mend"), inner),
        verify=raw["verify"],
        sources=tuple(raw["sources"]),
        visit=_read_visit(raw.get("visit")),
        ruleset=owner,
        file=file,
        line=0,
    )


def _texts(raw: Mapping[str, Any], path: tuple[str | int, ...]) -> Mapping[tuple[str | int, ...], str]:
    """Return the texts of a rule that may name parameters, by their path."""
    texts = {(*path, key): raw[key] for key in ("title", "why", "verify") if key in raw}
    return {**texts, (*path, "mend", "text"): raw["mend"]["text"]} if "mend" in raw else texts


def _optional(
    raw: Mapping[str, Any], key: str, path: tuple[str | int, ...], around: Surroundings
) -> Condition | None:
    return parse_condition(raw[key], (*path, key), around) if key in raw else None


def _check_vector(vector: str, path: tuple[str | int, ...], faults: Faults) -> None:
    try:
        parse_vector(vector)
    except VectorError as error:
        faults.add(path, str(error), "Write it as AV:N/AC:L/Au:N/C:P/I:P/A:P (NIST IR 7502).")


def _read_mend(raw: Mapping[str, Any], path: tuple[str | int, ...], around: Surroundings) -> Mend:
    if len(raw) == 1:
        return Mend(raw["text"])
    parts = {
        key: tuple(parse(part, (*path, key, n), around) for n, part in enumerate(raw.get(key, ())))
        for key, parse in _MEND_PARTS.items()
    }
    return Mend(raw["text"], parts["set"], parts["new_secrets"], parts["ask"], raw.get("recipe", ""))


_MEND_PARTS: Final[Mapping[str, Callable[..., Any]]] = {
    "set": parse_change,
    "new_secrets": parse_new_secret,
    "ask": parse_ask,
}


def _read_visit(raw: Mapping[str, Any] | None) -> Visit | None:
    if raw is None:
        return None
    return Visit(
        raw.get("restart", False),
        raw.get("cuts_access", False),
        raw.get("output_risk", False),
        tuple(raw.get("after", ())),
        tuple(raw.get("needs", ())),
        tuple(raw.get("provides", ())),
        raw.get("work", ""),
        raw.get("minutes", 0),
        raw.get("last", False),
        raw.get("at_desk", False),
        raw.get("opens_first", ""),
    )
