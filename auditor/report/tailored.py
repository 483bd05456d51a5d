"""What a site tailored, for people: every report prints it. Holds no format."""

from collections.abc import Iterator, Mapping
from typing import Any

from auditor.dataclass import dataclass
from auditor.rules.program import Program
from auditor.rules.rule import Parameter


@dataclass(frozen=True, slots=True)
class Choice:
    """One choice of the site.

    ``kind`` is ``parameter``, ``rule set aside``, ``environment``, ``own rule``, ``own words`` or
    ``hold at``; ``name`` what it is about; ``text`` what was chosen, in words.
    """

    kind: str
    name: str
    text: str


def choices(program: Program) -> tuple[Choice, ...]:
    """Return everything that the site tailored, in the order of its file's sections."""
    return tuple(_choices(program))


def usual_parameters(program: Program) -> Mapping[str, Parameter]:
    """Return the parameters as the rulesets set them, before tailoring."""
    return {name: p for ruleset in program.rulesets for name, p in ruleset.parameters.items()}


def quantity(parameter: Parameter) -> str:
    """Return the value of a parameter with its unit."""
    return f"{value_text(parameter.value)} {parameter.unit}".rstrip()


def value_text(value: Any) -> str:  # noqa: ANN401 - any TOML value
    """Return a TOML value in words."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | tuple):
        return ", ".join(map(value_text, value)) or "none"
    return str(value)


def _choices(program: Program) -> Iterator[Choice]:
    tailoring, usual = program.tailoring, usual_parameters(program)
    if tailoring.hold_at:
        yield Choice("hold at", "", tailoring.hold_at)
    for name, parameter in tailoring.parameters.items():
        yield Choice("parameter", name, f"{quantity(parameter)} instead of {quantity(usual[name])}")
    for rule, reason in tailoring.deselected.items():
        yield Choice("rule set aside", rule, reason)
    for feeds, metrics in tailoring.environments.items():
        vector = "/".join(f"{metric}:{value}" for metric, value in metrics.items())
        yield Choice("environment", feeds, vector or "no metrics: severities are base scores")
    for own in tailoring.rules:
        yield Choice("own rule", own.id, own.title)
    words = tailoring.word_list
    if words.file:
        yield Choice(
            "own words", words.file, f"{len(words.written)} that count as well known (digest {words.name})"
        )
