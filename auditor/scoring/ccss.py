"""Severity of a finding: CCSS base, temporal and environmental scores (NIST IR 7502), in decimals.

Exact decimals avoid the surprises of binary floats at the half-up rounding. Each score carries
its working, so that a report can follow it back. Holds no choice of metrics: see ``environment``.

Two readings are settled here, because the published equations leave them open:

* The environmental equation falls below zero for some valid vectors (to -0.7, or -1.7 where
  every impact is overridden to none). Each score is clamped to 0.0-10.0.
* ``f`` stands in the environmental equation as ``f(Impact)``: it is taken from the *base*
  impact, as written, not from the environmental one. So a vector without impact scores 0.0
  whatever EC, EI and EA say, and overriding every impact to none still leaves up to 2.9.
"""

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from types import MappingProxyType
from typing import NamedTuple, TypeAlias

from auditor.dataclass import dataclass

Weights: TypeAlias = Mapping[str, Mapping[str, str]]

# Weights: NIST IR 7502 sections 2 and 3, as checked in tests/scoring against its worked
# examples and against the CVSS v2 base equations, which are the same.
_IMPACT = {"N": "0", "P": "0.275", "C": "0.660"}
BASE_WEIGHTS: Weights = {
    "AV": {"L": "0.395", "A": "0.646", "N": "1.0"},
    "AC": {"H": "0.35", "M": "0.61", "L": "0.71"},
    "Au": {"M": "0.45", "S": "0.56", "N": "0.704"},
    "C": _IMPACT,
    "I": _IMPACT,
    "A": _IMPACT,
}
TEMPORAL_WEIGHTS: Weights = {
    "GEL": {"N": "0.6", "L": "0.8", "M": "1.0", "ND": "1.0", "H": "1.2"},
    "GRL": {"H": "0.4", "M": "0.6", "L": "0.8", "N": "1.0", "ND": "1.0"},
}
_DEMAND = {"L": "0.5", "M": "1.0", "ND": "1.0", "H": "1.51"}
ENVIRONMENTAL_WEIGHTS: Weights = {
    "CDP": {"N": "1.0", "ND": "1.0", "L": "1.25", "LM": "1.5", "MH": "1.75", "H": "2.0"},
    "PTV": {"L": "0.8", "M": "1.0", "ND": "1.0", "H": "1.2"},
    "LVP": {"N": "0.6", "L": "0.8", "M": "1.0", "ND": "1.0", "H": "1.2"},
    "LRL": {"N": "1.0", "ND": "1.0", "L": "0.8", "M": "0.6", "H": "0.4"},
    "CR": _DEMAND,
    "IR": _DEMAND,
    "AR": _DEMAND,
}
_OVERRIDE = {**_IMPACT, "ND": ""}
OVERRIDE_WEIGHTS: Weights = {"EC": _OVERRIDE, "EI": _OVERRIDE, "EA": _OVERRIDE}
"""Metrics that put another impact in the place of C, I or A; ``ND`` keeps the base value."""

_ALL_WEIGHTS = {**BASE_WEIGHTS, **TEMPORAL_WEIGHTS, **ENVIRONMENTAL_WEIGHTS, **OVERRIDE_WEIGHTS}
_ADDED_WEIGHTS = {name: _ALL_WEIGHTS[name] for name in _ALL_WEIGHTS if name not in BASE_WEIGHTS}
_IMPACTS = (("C", "EC", "CR"), ("I", "EI", "IR"), ("A", "EA", "AR"))
_NO_METRICS: Mapping[str, str] = MappingProxyType({})
_TOP = Decimal(10)


class VectorError(ValueError):
    """A CCSS vector can't be read."""


class Step(NamedTuple):
    """One step of a score: what it is, the sum with its numbers, what comes out.

    Numbers in ``formula`` have at most four decimals; ``value`` is exact.
    """

    name: str
    formula: str
    value: Decimal


@dataclass(frozen=True, slots=True)
class Scored:
    """A score with everything that led to it; ``score`` is 0.0 to 10.0, one decimal.

    ``impact`` and ``exploitability`` are those that the score was made of: in a temporal or
    environmental score, the temporal or environmental ones.
    """

    vector: str
    impact: Decimal
    exploitability: Decimal
    score: Decimal
    steps: tuple[Step, ...]


@cache
def parse_vector(vector: str) -> Mapping[str, str]:
    """Return the six base metrics of a vector such as ``AV:N/AC:L/Au:N/C:P/I:P/A:P``.

    Raises:
        VectorError: if a metric is missing, unknown, repeated or has an unknown value.
    """
    return MappingProxyType(_complete(_metrics(vector.split("/"), BASE_WEIGHTS)))


@cache
def parse_full_vector(vector: str) -> Mapping[str, str]:
    """Return every metric of a vector that may go on beyond its six base metrics.

    Raises:
        VectorError: if a base metric is missing, or any is unknown, repeated or has an unknown value.
    """
    return MappingProxyType(_complete(_metrics(vector.split("/"), _ALL_WEIGHTS)))


@cache
def base_score(vector: str) -> Scored:
    """Return the base score of a vector; other metrics than base metrics count for nothing.

    Raises:
        VectorError: if the vector can't be read.

    Source: NIST IR 7502 section 3.2.1 (the equations of CVSS v2).
    """
    metrics = parse_full_vector(vector)
    working = (_base_impact(metrics), _exploitability(metrics))
    return _scored("Base score", _only(metrics, BASE_WEIGHTS), working)


@cache
def temporal_score(vector: str) -> Scored:
    """Return the temporal score of a vector; GEL and GRL count as ND where they are not given.

    Raises:
        VectorError: if the vector can't be read.

    Source: NIST IR 7502 section 3.2.2.
    """
    metrics = parse_full_vector(vector)
    impact, exploitability = _base_impact(metrics), _exploitability(metrics)
    now = _weighed("Temporal exploitability", exploitability, metrics, ("GEL", "GRL"))
    kept = _only(metrics, {**BASE_WEIGHTS, **TEMPORAL_WEIGHTS})
    return _scored("Temporal score", kept, (impact, exploitability, impact, now))


def environmental_score(vector: str, environment: Mapping[str, str] = _NO_METRICS) -> Scored:
    """Return the score of a vector where the card is: what it feeds decides the metrics.

    Metrics of ``environment`` go before those of the vector. Metrics not given count as ND.

    Raises:
        VectorError: if the vector or a metric can't be read.

    Source: NIST IR 7502 section 3.2.3.
    """
    return _environmental_score(vector, tuple(environment.items()))


def explain(vector: str, environment: Mapping[str, str] = _NO_METRICS) -> tuple[Step, ...]:
    """Return the sums that lead to a severity, one step after the other, the score last.

    Without an environment they are those of the base score.

    Raises:
        VectorError: if the vector or a metric can't be read.
    """
    return (environmental_score(vector, environment) if environment else base_score(vector)).steps


@cache
def _environmental_score(vector: str, environment: tuple[tuple[str, str], ...]) -> Scored:
    added = _metrics([f"{name}:{value}" for name, value in environment], _ADDED_WEIGHTS)
    metrics = {**parse_full_vector(vector), **added}
    exploitability = _exploitability(metrics)
    here = _weighed("Environmental exploitability", exploitability, metrics, ("GEL", "LVP", "PTV", "LRL"))
    working = (_base_impact(metrics), exploitability, _environmental_impact(metrics), here)
    return _scored("Environmental score", metrics, working)


def _metrics(parts: list[str], weights: Weights) -> dict[str, str]:
    metrics: dict[str, str] = {}
    for part in parts:
        name, _, value = part.partition(":")
        if name not in weights:
            raise VectorError(f"no metric {name!r} here; known are {', '.join(weights)}")
        if value not in weights[name]:
            raise VectorError(f"no value {value!r} of {name}; known are {', '.join(weights[name])}")
        if name in metrics:
            raise VectorError(f"metric {name} stands twice")
        metrics[name] = value
    return metrics


def _complete(metrics: dict[str, str]) -> dict[str, str]:
    missing = [name for name in BASE_WEIGHTS if name not in metrics]
    if missing:
        raise VectorError(f"the vector lacks {', '.join(missing)}")
    return metrics


def _only(metrics: Mapping[str, str], weights: Weights) -> dict[str, str]:
    return {name: value for name, value in metrics.items() if name in weights}


def _weight(metrics: Mapping[str, str], name: str) -> Decimal:
    return Decimal(_ALL_WEIGHTS[name][metrics.get(name, "ND")])


def _base_impact(metrics: Mapping[str, str]) -> Step:
    factors = [_weight(metrics, name) for name in ("C", "I", "A")]
    lost = " * ".join(f"(1 - {_shown(factor)})" for factor in factors)
    return Step("Impact (C, I, A)", f"10.41 * (1 - {lost})", _loss(factors))


def _environmental_impact(metrics: Mapping[str, str]) -> Step:
    pairs = [
        (_weight(metrics, _in_force(metrics, name, override)), _weight(metrics, demand))
        for name, override, demand in _IMPACTS
    ]
    damage = _weight(metrics, "CDP")
    lost = " * ".join(f"(1 - {_shown(factor)} * {_shown(demand)})" for factor, demand in pairs)
    return Step(
        "Environmental impact (C * CR, I * IR, A * AR, CDP)",
        f"min(10, 10.41 * (1 - {lost}) * {_shown(damage)})",
        min(_TOP, _loss([factor * demand for factor, demand in pairs]) * damage),
    )


def _in_force(metrics: Mapping[str, str], name: str, override: str) -> str:
    return name if metrics.get(override, "ND") == "ND" else override


def _loss(factors: list[Decimal]) -> Decimal:
    kept = (1 - factors[0]) * (1 - factors[1]) * (1 - factors[2])
    return Decimal("10.41") * (1 - kept)


def _exploitability(metrics: Mapping[str, str]) -> Step:
    factors = [_weight(metrics, name) for name in ("AV", "AC", "Au")]
    formula = " * ".join(["20", *map(_shown, factors)])
    return Step("Exploitability (AV, AC, Au)", formula, 20 * factors[0] * factors[1] * factors[2])


def _weighed(name: str, before: Step, metrics: Mapping[str, str], names: tuple[str, ...]) -> Step:
    value, factors = before.value, [_weight(metrics, factor) for factor in names]
    for factor in factors:
        value *= factor
    formula = " * ".join(map(_shown, (before.value, *factors)))
    return Step(f"{name} ({', '.join(names)})", f"min(10, {formula})", min(_TOP, value))


def _scored(title: str, metrics: Mapping[str, str], working: tuple[Step, ...]) -> Scored:
    """Join the last two steps, an impact and an exploitability; the first is the base impact."""
    impact, exploitability = working[-2].value, working[-1].value
    factor = _factor(working[0].value)
    raw = _raw(impact, exploitability, factor.value)
    rounded = min(_TOP, max(Decimal(0), raw.value)).quantize(Decimal("0.1"), ROUND_HALF_UP)
    last = Step(title, f"{_shown(raw.value)}, kept within 0 to 10, to one decimal (half up)", rounded)
    vector = "/".join(f"{name}:{metrics[name]}" for name in _ALL_WEIGHTS if name in metrics)
    steps = (*dict.fromkeys(working), factor, raw, last)
    return Scored(vector, impact, exploitability, rounded, steps)


def _factor(base_impact: Decimal) -> Step:
    if base_impact:
        return Step("f(Impact)", f"1.176, since the impact {_shown(base_impact)} is not 0", Decimal("1.176"))
    return Step("f(Impact)", "0, since the impact is 0", Decimal(0))


def _raw(impact: Decimal, exploitability: Decimal, factor: Decimal) -> Step:
    value = (Decimal("0.6") * impact + Decimal("0.4") * exploitability - Decimal("1.5")) * factor
    formula = f"(0.6 * {_shown(impact)} + 0.4 * {_shown(exploitability)} - 1.5) * {_shown(factor)}"
    return Step("Before rounding", formula, value)


def _shown(value: Decimal) -> str:
    """Return a number with at most four decimals, without trailing zeros."""
    return f"{value.quantize(Decimal('0.0001'), ROUND_HALF_UP):f}".rstrip("0").rstrip(".")
