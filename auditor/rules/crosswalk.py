"""Crosswalks: which controls of a published catalogue each rule serves. Opens no files."""

from collections.abc import Mapping
from typing import Any

from auditor.dataclass import dataclass
from auditor.record.nearest import nearest
from auditor.rules.fault import Faults
from auditor.rules.loading import check_document, raise_faults, read_schema, read_toml


@dataclass(frozen=True, slots=True)
class Crosswalk:
    """Rules and the controls that they serve.

    ``controls`` are the titles by identifier, in the catalogue's words and in the file's order.
    ``rules`` are the identifiers by rule id, at least one each, the most fitting first.
    """

    name: str
    title: str
    edition: str
    source: str
    controls: Mapping[str, str]
    rules: Mapping[str, tuple[str, ...]]


def load_crosswalk(text: bytes, file: str) -> Crosswalk:
    """Return the crosswalk that a TOML file holds.

    Whether its rules exist is not checked here: that depends on the rulesets in use.

    Raises:
        RulesetError: with every fault of the file, in file order.
    """
    document = read_toml(text, file)
    check_document(document, read_schema("crosswalk-1.schema.json"), text, file)
    faults = Faults()
    _check_controls(document, faults)
    raise_faults(faults.found, text, file)
    head, rules = document["crosswalk"], document["rules"]
    return Crosswalk(
        head["name"],
        head["title"],
        head["edition"],
        head["source"],
        document["controls"],
        {rule: tuple(controls) for rule, controls in rules.items()},
    )


def _check_controls(document: Mapping[str, Any], faults: Faults) -> None:
    titles = document["controls"]
    for rule, controls in document["rules"].items():
        for control in controls:
            if control not in titles:
                problem = f"{control} has no title in [controls]"
                faults.add(("rules", rule), problem, nearest(control, titles))
