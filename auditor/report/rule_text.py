"""Rules as text for a terminal: the list of them, and one explained fully."""

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from tabulate import tabulate

from auditor.report.condition_text import condition_lines
from auditor.report.writer import Look
from auditor.rules.crosswalk import Crosswalk
from auditor.rules.program import Program
from auditor.rules.rule import Rule
from auditor.scoring.band import band_of
from auditor.scoring.ccss import base_score, environmental_score
from auditor.scoring.environment import DEFAULT_ENVIRONMENTS, environment_of


def rule_list(rules: Sequence[Rule], look: Look) -> str:
    """Return a table of rules by family, with their base scores, no wider than the look allows."""
    fixed = max((len(rule.id) for rule in rules), default=0) + 12
    rows = [
        (
            rule.id,
            f"{base_score(rule.vector).score}",
            textwrap.shorten(rule.title, max(20, look.width - fixed)),
        )
        for rule in rules
    ]
    families = list(dict.fromkeys(rule.family for rule in rules))
    blocks = []
    for family in families:
        own = [row for row, rule in zip(rows, rules, strict=True) if rule.family == family]
        table = tabulate(own, tablefmt="plain", disable_numparse=True)
        blocks.append(f"{family} ({len(own)})\n{textwrap.indent(table, '  ')}")
    return "\n\n".join([*blocks, f"{len(rules)} rules. Explain one: witnessmark rules show ID"])


def rule_text(rule: Rule, program: Program, crosswalks: Iterable[Crosswalk], look: Look) -> str:
    """Return everything there is to say about a rule, wrapped to the look's width."""
    wrap = textwrap.TextWrapper(min(look.width, 100), initial_indent="  ", subsequent_indent="  ")
    sections = [
        (f"{rule.id}: {rule.title}", _heading(rule)),
        ("Why it matters", [*wrap.wrap(" ".join(rule.why.split()))]),
        *_conditions(rule, program),
        ("How to mend it", [*wrap.wrap(" ".join(rule.mend.text.split())), *_settings(rule)]),
        ("How to verify it", wrap.wrap(" ".join(rule.verify.split()))),
        ("Severity", list(_severity(rule, program, wrap))),
        ("Controls", list(_controls(rule, crosswalks, wrap))),
        ("Sources", [line for source in rule.sources for line in wrap.wrap(source)]),
    ]
    return "\n\n".join("\n".join([title, *lines]) for title, lines in sections if lines)


def _heading(rule: Rule) -> list[str]:
    about = f"each member of {rule.for_each}" if rule.for_each else "the card"
    return [f"  family {rule.family}, ruleset {rule.ruleset}, about {about}"]


def _conditions(rule: Rule, program: Program) -> Iterator[tuple[str, list[str]]]:
    units = {name: parameter.unit for name, parameter in program.parameters.items()}
    units.update({name: fact.unit for name, fact in program.facts.items()})
    if rule.applies_when is not None:
        yield "Applies when", list(condition_lines(rule.applies_when, units, "  "))
    yield "Requires", list(condition_lines(rule.require, units, "  "))


def _settings(rule: Rule) -> list[str]:
    return [f"  would pass: {pointer} = {_literal(value)}" for pointer, value in rule.mend.settings]


def _literal(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _severity(rule: Rule, program: Program, wrap: textwrap.TextWrapper) -> Iterator[str]:
    base = base_score(rule.vector)
    yield from wrap.wrap(f"{base.score} {band_of(base.score)} (CCSS base {rule.vector})")
    yield from wrap.wrap(f"Because: {rule.vector_because}")
    for step in base.steps:
        yield from wrap.wrap(f"{step.name} = {step.formula} = {_figure(step.value)}")
    yield "  On a card that feeds:"
    for feeds in DEFAULT_ENVIRONMENTS:
        metrics = environment_of(feeds, program.tailoring.environments).metrics
        scored = environmental_score(rule.vector, metrics)
        yield f"    {feeds:<12} {scored.score:>4} {band_of(scored.score)}"


def _figure(value: Decimal) -> str:
    return f"{round(value, 4).normalize():f}"


def _controls(rule: Rule, crosswalks: Iterable[Crosswalk], wrap: textwrap.TextWrapper) -> Iterator[str]:
    for crosswalk in crosswalks:
        for control in crosswalk.rules.get(rule.id, ()):
            yield from wrap.wrap(f"{crosswalk.title} {control} {crosswalk.controls[control]}")
