"""The head of a result document: the run and its rules, as ``$defs/run`` and ``$defs/rule`` say."""

from collections.abc import Mapping
from typing import Any

from auditor.report.plain import plain
from auditor.report.tailored import usual_parameters
from auditor.report.writer import TOOL, Run
from auditor.rules.program import Program
from auditor.rules.rule import Parameter, Rule, Ruleset
from auditor.rules.word_list import WordList
from auditor.scoring.assessment import weight_of
from auditor.scoring.ccss import base_score
from auditor.scoring.environment import DEFAULT_ENVIRONMENTS, environment_of

SCHEMA = "witnessmark/result-1"


def run_document(run: Run) -> dict[str, Any]:
    """Return what a result says of the run: everything that could have made it another one."""
    tailoring = run.program.tailoring
    return {
        "tool": TOOL,
        "version": run.version,
        "as_of": run.as_of.isoformat(),
        "model": run.model.value,
        "rulesets": [_ruleset(ruleset) for ruleset in run.program.rulesets],
        "crosswalks": [
            {"name": each.name, "title": each.title, "edition": each.edition, "source": each.source}
            for each in run.crosswalks
        ],
        **_site(run.program),
        "parameters": _parameters(run.program),
        "deselected": dict(tailoring.deselected),
        **_deviations(run),
        "environments": _environments(tailoring.environments),
    }


def rule_documents(run: Run) -> dict[str, Any]:
    """Return every rule of the run by its id, in the order in which cards list their results."""
    return {rule.id: _rule(rule, run) for rule in run.program.rules}


def _ruleset(ruleset: Ruleset) -> dict[str, Any]:
    return {
        "name": ruleset.name,
        "title": ruleset.title,
        "version": ruleset.version,
        "file": plain(ruleset.file),
        "digest": f"sha256:{ruleset.digest}",
    }


def _site(program: Program) -> dict[str, Any]:
    tailoring = program.tailoring
    if not tailoring.file:
        return {}
    site = {"file": plain(tailoring.file), "digest": f"sha256:{tailoring.digest}"}
    named = {"operator": tailoring.operator, "hold_at": tailoring.hold_at}
    own = {"own_rules": [rule.id for rule in tailoring.rules], **_own_words(tailoring.word_list)}
    return {"site": {**site, **{name: value for name, value in named.items() if value}, **own}}


def _own_words(words: WordList) -> dict[str, Any]:
    """Say how many words the site added, and by a digest which; the words themselves are never written."""
    told = {"file": plain(words.file), "words": len(words.written), "digest": words.name}
    return {"own_words": told} if words.file else {}


def _deviations(run: Run) -> dict[str, Any]:
    given = run.deviations
    if given is None:
        return {}
    most = run.program.tailoring.deviation_days_maximum
    return {
        "deviations": {"file": plain(given.file), "digest": f"sha256:{given.digest}", "days_maximum": most}
    }


def _parameters(program: Program) -> dict[str, Any]:
    usual = usual_parameters(program)
    return {name: _parameter(held, usual.get(name, held)) for name, held in program.parameters.items()}


def _parameter(parameter: Parameter, usual: Parameter) -> dict[str, Any]:
    changed = parameter.value != usual.value
    return {
        "value": parameter.value,
        **({"unit": parameter.unit} if parameter.unit else {}),
        "meaning": parameter.meaning,
        "source": parameter.source,
        "changed": changed,
        **({"usual": usual.value} if changed else {}),
    }


def _environments(tailored: Mapping[str, Mapping[str, str]]) -> dict[str, Any]:
    found = {feeds: environment_of(feeds, tailored) for feeds in (*DEFAULT_ENVIRONMENTS, *tailored)}
    return {
        feeds: {"metrics": dict(each.metrics), "because": each.because, "changed": feeds in tailored}
        for feeds, each in found.items()
    }


def _rule(rule: Rule, run: Run) -> dict[str, Any]:
    controls = {each.name: list(each.rules[rule.id]) for each in run.crosswalks if rule.id in each.rules}
    return {
        "title": rule.title,
        "family": rule.family,
        "ruleset": rule.ruleset,
        **({"for_each": rule.for_each} if rule.for_each else {}),
        "vector": base_score(rule.vector).vector,
        "because": rule.vector_because,
        "weight": weight_of(rule),
        "why": rule.why,
        "mend": rule.mend.text,
        "verify": rule.verify,
        "sources": list(rule.sources),
        "controls": controls,
    }
