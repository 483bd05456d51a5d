"""One rule explained fully, as text for a terminal."""

import textwrap
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from tabulate import tabulate

from auditor.report.condition_text import condition_lines
from auditor.report.figures import one_line
from auditor.report.ink import Ink, Style
from auditor.report.layout import width_of
from auditor.report.layout import wrap as wrap_words
from auditor.report.plain import plain
from auditor.report.tailored import choices, value_text
from auditor.report.writer import Look
from auditor.rules.condition import Leaf, Subject, leaves
from auditor.rules.crosswalk import Crosswalk
from auditor.rules.program import Program
from auditor.rules.rule import Rule
from auditor.scoring.band import band_of
from auditor.scoring.ccss import Step, base_score, environmental_score
from auditor.scoring.environment import DEFAULT_ENVIRONMENTS, environment_of


def rule_text(rule: Rule, program: Program, crosswalks: Iterable[Crosswalk], look: Look) -> str:
    """Return everything there is to say about a rule, wrapped to the look's width."""
    width, ink = min(look.width, 100), Ink(look.colour)
    wrap = textwrap.TextWrapper(width, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False)
    sections = [
        (f"{rule.id}: {one_line(rule.title)}", list(_heading(rule, program, wrap))),
        ("Why it matters", [*wrap.wrap(" ".join(rule.why.split()))]),
        *_conditions(rule, program),
        ("How to mend it", [*wrap.wrap(" ".join(rule.mend.text.split())), *_settings(rule)]),
        ("How to verify it", wrap.wrap(" ".join(rule.verify.split()))),
        ("Severity", list(_severity(rule, program, wrap))),
        ("Controls", list(_controls(rule, crosswalks, wrap))),
        ("Changed by the site", list(_changed(rule, program, wrap))),
        ("Sources", [line for source in rule.sources for line in wrap.wrap(source)]),
    ]
    blocks = ((_title(title, width, ink), _fitted(lines, width)) for title, lines in sections if lines)
    return "\n\n".join("\n".join([title, *lines]) for title, lines in blocks)


def _fitted(lines: Iterable[str], width: int) -> Iterator[str]:
    """Yield lines no wider than the width; what goes on is indented further."""
    for line in map(plain, lines):
        indent = " " * (len(line) - len(line.lstrip()))
        fits = width_of(line) <= width
        yield from [line] if fits else wrap_words(line, width, first=indent, later=f"{indent}  ")


def _title(title: str, width: int, ink: Ink) -> str:
    return "\n".join(ink(line, Style.STRONG) for line in wrap_words(plain(title), width))


def _heading(rule: Rule, program: Program, wrap: textwrap.TextWrapper) -> Iterator[str]:
    about = f"each member of {rule.for_each}" if rule.for_each else "the card"
    yield from wrap.wrap(f"family {rule.family}, ruleset {rule.ruleset}, about {about}")
    reason = program.tailoring.deselected.get(rule.id)
    if reason is not None:
        yield from wrap.wrap(one_line(f"Set aside by the site ({program.tailoring.file}): {reason}"))


def _conditions(rule: Rule, program: Program) -> Iterator[tuple[str, list[str]]]:
    units = {name: parameter.unit for name, parameter in program.parameters.items()}
    units.update({name: fact.unit for name, fact in program.facts.items()})
    if rule.applies_when is not None:
        yield "Applies when", list(condition_lines(rule.applies_when, units, "  "))
    yield "Requires", list(condition_lines(rule.require, units, "  "))


def _settings(rule: Rule) -> list[str]:
    return [f"  would pass: {change.pointer} = {value_text(change.value)}" for change in rule.mend.settings]


def _changed(rule: Rule, program: Program, wrap: textwrap.TextWrapper) -> Iterator[str]:
    """Yield the parameters of the rule that the site changed."""
    conditions = (rule.require, *((rule.applies_when,) if rule.applies_when else ()))
    named = {name for condition in conditions for leaf in leaves(condition) for name in _parameters(leaf)}
    named.update(change.parameter for change in rule.mend.settings)
    for choice in choices(program):
        if choice.kind == "parameter" and choice.name in named:
            yield from wrap.wrap(f"parameter {choice.name}: {choice.text}")


def _parameters(leaf: Leaf) -> Iterator[str]:
    if leaf.subject is Subject.PARAMETER:
        yield leaf.name
    if leaf.parameter:
        yield leaf.parameter


def _severity(rule: Rule, program: Program, wrap: textwrap.TextWrapper) -> Iterator[str]:
    base = base_score(rule.vector)
    yield from wrap.wrap(f"{base.score} {band_of(base.score)} (CCSS base {rule.vector})")
    yield from wrap.wrap(f"Because: {rule.vector_because}")
    for step in base.steps:
        yield from wrap.wrap(_step(step))
    rows = []
    for feeds in DEFAULT_ENVIRONMENTS:
        metrics = environment_of(feeds, program.tailoring.environments).metrics
        scored = environmental_score(rule.vector, metrics)
        rows.append((feeds, scored.score, band_of(scored.score), _vector(metrics)))
    headings = ("card feeds", "severity", "band", "by the metrics")
    table = tabulate(
        rows, headings, "simple", disable_numparse=True, colalign=("left", "right", "left", "left")
    )
    yield from textwrap.indent(table, "  ").split("\n")


def _vector(metrics: Mapping[str, str]) -> str:
    return "/".join(f"{name}:{value}" for name, value in metrics.items()) or "none"


def _step(step: Step) -> str:
    """Return a step of a score; a formula that begins with its own value is not said to be equal to it."""
    value = _figure(step.value)
    told = step.formula == value or step.formula.startswith(f"{value},")
    return f"{step.name} = {step.formula}" if told else f"{step.name} = {step.formula} = {value}"


def _figure(value: Decimal) -> str:
    """Return a number with one to four decimals."""
    whole, _, decimals = f"{value:.4f}".partition(".")
    return f"{whole}.{decimals.rstrip('0') or '0'}"


def _controls(rule: Rule, crosswalks: Iterable[Crosswalk], wrap: textwrap.TextWrapper) -> Iterator[str]:
    for crosswalk in crosswalks:
        for control in crosswalk.rules.get(rule.id, ()):
            yield from wrap.wrap(f"{crosswalk.title} {control} {crosswalk.controls[control]}")
