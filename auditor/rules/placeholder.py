"""Parameters named in a rule's texts, as ``{session_timeout_maximum_s}``: found, and filled in."""

import re
from collections.abc import Iterator, Mapping

from auditor.dataclass import replace
from auditor.record.nearest import nearest
from auditor.rules.evidence import value_text
from auditor.rules.fault import Faults
from auditor.rules.rule import Parameter, Rule

_NAMED = re.compile(r"\{([a-z][a-z0-9_]*)\}")


def check_placeholders(
    texts: Mapping[tuple[str | int, ...], str], parameters: Mapping[str, Parameter], faults: Faults
) -> None:
    """Note every name in braces that is no parameter; ``texts`` are by their path in the file."""
    for path, text in texts.items():
        for name in placeholders(text):
            if name not in parameters:
                faults.add(path, f"no parameter {name}", nearest(name, parameters))


def placeholders(text: str) -> Iterator[str]:
    """Yield the names of parameters in a text, in its order."""
    return (found[1] for found in _NAMED.finditer(text))


def filled(text: str, parameters: Mapping[str, Parameter]) -> str:
    """Return a text with the values of its parameters, and their units, filled in."""
    return _NAMED.sub(lambda found: parameter_text(parameters[found[1]]), text) if "{" in text else text


def parameter_text(parameter: Parameter) -> str:
    """Return the value of a parameter with its unit, such as ``900 s``."""
    return f"{value_text(parameter.value)} {parameter.unit}".rstrip()


def with_texts_filled(rule: Rule, parameters: Mapping[str, Parameter]) -> Rule:
    """Return a rule whose texts name the values of the program in force."""
    if not any("{" in text for text in (rule.title, rule.why, rule.mend.text, rule.verify)):
        return rule
    return replace(
        rule,
        title=filled(rule.title, parameters),
        why=filled(rule.why, parameters),
        mend=replace(rule.mend, text=filled(rule.mend.text, parameters)),
        verify=filled(rule.verify, parameters),
    )
