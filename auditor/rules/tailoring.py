"""A site's ``witnessmark.toml`` → its choices: rulesets, thresholds, rules set aside, own rules.

Holds what was chosen and where it departs from the rulesets; ``program`` puts it to work.
"""

import hashlib
from collections.abc import Mapping, Sequence
from typing import Any

from auditor.dataclass import dataclass, field, replace
from auditor.facts.fact import Fact
from auditor.record.nearest import nearest
from auditor.rules.fault import Faults, RuleFault
from auditor.rules.loading import (
    faults_of_shape,
    raise_faults,
    read_rules,
    read_schema,
    read_toml,
    ruleset_schema,
)
from auditor.rules.rule import Parameter, Rule, Ruleset
from auditor.rules.word_list import NO_WORDS, WordList

DEFAULT_RULESETS = ("baseline", "readiness")

DEVIATION_DAYS_MAXIMUM = 365
"""Most days from approval to expiry of a deviation: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Tailoring:
    """What a site chose. ``parameters`` are the thresholds that differ, already complete.

    ``deselected`` maps rule to reason; ``environments`` maps what a card feeds to CCSS
    environmental metrics. ``hold_at`` is a severity band, or empty for the default.
    ``deviations`` is the path of the site's file of deviations, relative to its own file, or
    empty; no deviation may last longer than ``deviation_days_maximum``. ``sweep_every_days`` is
    the site's calendar, None where its file has none; it is also the parameter of that meaning.
    """

    file: str = ""
    digest: str = ""
    operator: str = ""
    hold_at: str = ""
    parameters: Mapping[str, Parameter] = field(default_factory=dict)
    deselected: Mapping[str, str] = field(default_factory=dict)
    environments: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    rules: tuple[Rule, ...] = ()
    deviations: str = ""
    deviation_days_maximum: int = DEVIATION_DAYS_MAXIMUM
    sweep_every_days: int | None = None
    word_list: WordList = NO_WORDS
    """The site's own words that count as well known."""


@dataclass(frozen=True, slots=True)
class SiteFile:
    """A site's file, read, but not yet held against its rulesets.

    ``faults`` are those of its shape; ``document`` is without the tables, and the members of
    ``[site]``, that have such a fault themselves.
    """

    document: Mapping[str, Any]
    text: bytes
    file: str
    faults: tuple[RuleFault, ...] = ()

    @property
    def rulesets(self) -> tuple[str, ...]:
        """The names or files of the rulesets that the site wants, in order."""
        return tuple(self.document.get("site", {}).get("rulesets", DEFAULT_RULESETS))

    @property
    def word_list(self) -> str:
        """The file of the site's own words, relative to this one; empty where there is none."""
        name: str = self.document.get("site", {}).get("word_list", "")
        return name


def read_site_file(text: bytes, file: str) -> SiteFile:
    """Read a site's file and check its shape.

    Raises:
        RulesetError: with every fault of shape, if nobody knows by which rulesets the rest is meant.
    """
    document = read_toml(text, file)
    faults = Faults(faults_of_shape(document, _site_schema()))
    if faults.spoil("site") or faults.stand_in(("site", "rulesets")):
        raise_faults(faults.found, text, file)
    return SiteFile(_sound(document, faults), text, file, tuple(faults.found))


def raise_shape(site: SiteFile) -> None:
    """Raise the faults of a file's shape, if any: all that can be said where its rulesets can't be read.

    Raises:
        RulesetError: if there is one.
    """
    raise_faults(site.faults, site.text, site.file)


def _sound(document: Mapping[str, Any], faults: Faults) -> Mapping[str, Any]:
    tables = {name: table for name, table in document.items() if not faults.spoil(name)}
    if "site" in tables:
        head = tables["site"].items()
        tables["site"] = {name: value for name, value in head if not faults.stand_in(("site", name))}
    return tables


def tailor(site: SiteFile, rulesets: Sequence[Ruleset], facts: Mapping[str, Fact]) -> Tailoring:
    """Hold a site's file against its rulesets and return its choices.

    Raises:
        RulesetError: with every fault: of shape, unknown parameters or rules, values of another kind.
    """
    faults = Faults(list(site.faults))
    known = {name: p for ruleset in rulesets for name, p in ruleset.parameters.items()}
    changed = _changed_parameters(site.document.get("parameters", {}), known, faults)
    changed.update(_calendar(site.document.get("sweep", {}), known, changed, faults))
    rules = read_rules(site.document, site.file, facts, {**known, **changed}, faults)
    ids = {rule.id for ruleset in rulesets for rule in ruleset.rules}
    shape = Faults(list(site.faults))
    for index, raw in enumerate(site.document.get("rule", ())):
        if isinstance(raw, Mapping) and not shape.stand_in(("rule", index, "id")) and raw["id"] in ids:
            faults.add(("rule", index, "id"), f"rule {raw['id']} stands in a ruleset", "Choose another id.")
    deselected = site.document.get("deselect", {})
    for name in deselected:
        if name not in ids and not faults.stand_in(("deselect", name)):
            faults.add(("deselect", name), f"no rule {name}", nearest(name, ids))
    raise_faults(faults.found, site.text, site.file)
    head = site.document.get("site", {})
    return Tailoring(
        site.file,
        hashlib.sha256(site.text).hexdigest(),
        head.get("operator", ""),
        head.get("hold_at", ""),
        changed,
        deselected,
        site.document.get("environment", {}),
        rules,
        head.get("deviations", ""),
        head.get("deviation_days_maximum", DEVIATION_DAYS_MAXIMUM),
        site.document.get("sweep", {}).get("every_days"),
    )


def _changed_parameters(
    raw: Mapping[str, Any], known: Mapping[str, Parameter], faults: Faults
) -> dict[str, Parameter]:
    changed = {}
    for name, value in raw.items():
        path = ("parameters", name)
        if faults.stand_in(path):
            continue
        if name not in known:
            faults.add(path, f"no parameter {name}", nearest(name, known))
        elif not _same_kind(value, known[name].value):
            kind = _KINDS[type(known[name].value)]
            faults.add(path, f"parameter {name} is a {kind}", f"Write a {kind}.")
        else:
            changed[name] = replace(known[name], value=value)
    return changed


SWEEP_INTERVAL = "sweep_interval_days"
"""The parameter that ``[sweep] every_days`` sets: one source of truth for rules and calendar."""


def _calendar(
    sweep: Mapping[str, Any], known: Mapping[str, Parameter], changed: Mapping[str, Parameter], faults: Faults
) -> dict[str, Parameter]:
    """Return the parameter that the site's calendar sets; without a ruleset that has it, a new one."""
    path = ("sweep", "every_days")
    if "every_days" not in sweep or faults.stand_in(path):
        return {}
    if SWEEP_INTERVAL in changed:
        faults.add(path, f"the parameter {SWEEP_INTERVAL} says the same", "Keep one of the two.")
        return {}
    usual = known.get(SWEEP_INTERVAL)
    if usual is None or usual.value == sweep["every_days"]:
        return {}
    return {SWEEP_INTERVAL: replace(usual, value=sweep["every_days"])}


_KINDS = {bool: "truth (true or false)", int: "number", float: "number", str: "text", list: "list"}


def _same_kind(value: object, other: object) -> bool:
    return _KINDS.get(type(value)) == _KINDS[type(other)]


def _site_schema() -> Mapping[str, Any]:
    """Return the schema of a site's file, with the ruleset's definitions put in."""
    schema = dict(read_schema("site-1.schema.json"))
    schema["$defs"] = ruleset_schema()["$defs"]
    local: Mapping[str, Any] = _pointed_home(schema)
    return local


def _pointed_home(node: Any) -> Any:  # noqa: ANN401 - any JSON value
    """Return the schema with references to the ruleset's schema made local."""
    if isinstance(node, dict):
        return {
            key: value.replace("urn:witnessmark:ruleset-1#", "#") if key == "$ref" else _pointed_home(value)
            for key, value in node.items()
        }
    return [_pointed_home(item) for item in node] if isinstance(node, list) else node
