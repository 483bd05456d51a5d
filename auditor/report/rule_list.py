"""The list of rules for a terminal: by family, with base scores and what the site made of them."""

from collections.abc import Iterator, Sequence

from auditor.report.figures import one_line
from auditor.report.ink import OF_BAND, Ink, Style
from auditor.report.layout import wrap
from auditor.report.plain import plain
from auditor.report.tailored import choices
from auditor.report.verdict import counted
from auditor.report.writer import TOOL, Look
from auditor.rules.program import Program
from auditor.rules.rule import Rule
from auditor.scoring.band import band_of
from auditor.scoring.ccss import base_score

_SCORE = 6
_NARROWEST_TITLE = 24
"""Columns that a title must have to stand beside its rule, not below."""


def rule_list(program: Program, look: Look) -> str:
    """Return the rules of a program by family, no wider than the look allows."""
    families: dict[str, list[Rule]] = {}
    for rule in program.rules:
        families.setdefault(rule.family, []).append(rule)
    blocks = [list(_family(name, rules, program, look)) for name, rules in families.items()]
    blocks += [list(_tailored(program, look)), [_end(program)]]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _family(name: str, rules: Sequence[Rule], program: Program, look: Look) -> Iterator[str]:
    ink = Ink(look.colour)
    yield ink(f"{plain(name)} ({len(rules)})", Style.STRONG)
    widest = max(len(rule.id) for rule in rules)
    for rule in rules:
        yield from _rule(rule, widest, program.tailoring.deselected.get(rule.id, ""), look)


def _rule(rule: Rule, widest: int, set_aside: str, look: Look) -> Iterator[str]:
    ink, base = Ink(look.colour), base_score(rule.vector).score
    beside = look.width - _SCORE - widest - 4 >= _NARROWEST_TITLE
    indent = " " * (_SCORE + 2 + (widest + 2 if beside else 2))
    first = f"{'':{_SCORE}}  {rule.id:<{widest}}  "
    title = plain(one_line(rule.title))
    lines = wrap(title, look.width, first=first, later=indent) if beside else [first.rstrip()]
    yield "  " + ink(f"{base:>4}", OF_BAND[band_of(base)]) + lines[0][_SCORE:]
    yield from lines[1:] if beside else wrap(title, look.width, first=indent, later=indent)
    if set_aside:
        words = plain(one_line(f"set aside by the site: {set_aside}"))
        yield from (ink(line, Style.FAINT) for line in wrap(words, look.width, first=indent, later=indent))


def _tailored(program: Program, look: Look) -> Iterator[str]:
    chosen = [choice for choice in choices(program) if choice.kind == "parameter"]
    if chosen:
        yield Ink(look.colour)(f"parameters changed in {plain(program.tailoring.file)}", Style.STRONG)
    for choice in chosen:
        said = plain(one_line(f"{choice.name}: {choice.text}"))
        yield from wrap(said, look.width, first="  ", later="    ")


def _end(program: Program) -> str:
    aside = len(program.tailoring.deselected)
    said = (
        f"{counted(len(program.rules), 'rule')}, {aside} set aside"
        if aside
        else counted(len(program.rules), "rule")
    )
    return f"{said}. Explain one: {TOOL} rules show ID"
