"""The page's tables of sums and choices: controls, workings of severities, tailoring. No markup."""

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from auditor.dataclass import dataclass
from auditor.report.by_control import ControlSum
from auditor.report.html.findings import Explained
from auditor.report.tailored import quantity, usual_parameters
from auditor.report.writer import Run
from auditor.rules.crosswalk import Crosswalk
from auditor.rules.program import Program
from auditor.rules.rule import Parameter
from auditor.scoring.assessment import CardAssessment
from auditor.scoring.band import Band, band_of
from auditor.scoring.ccss import Scored, Step, base_score
from auditor.scoring.environment import DEFAULT_ENVIRONMENTS, UNKNOWN_ENVIRONMENT, Environment, environment_of


@dataclass(frozen=True, slots=True)
class Catalogue:
    """One crosswalk: the sums of its controls in its order, and the rules that it does not place."""

    crosswalk: Crosswalk
    controls: tuple[ControlSum, ...]
    unplaced: tuple[Explained, ...]


def catalogues_of(
    run: Run, sums: Iterable[ControlSum], rules: Mapping[str, Explained]
) -> tuple[Catalogue, ...]:
    """Return every crosswalk with the sums of its controls; controls without rules are left out."""
    by_name: dict[str, list[ControlSum]] = {}
    for each in sums:
        by_name.setdefault(each.crosswalk, []).append(each)
    return tuple(
        Catalogue(
            crosswalk,
            tuple(by_name.get(crosswalk.name, ())),
            tuple(explained for name, explained in rules.items() if name not in crosswalk.rules),
        )
        for crosswalk in run.crosswalks
    )


@dataclass(frozen=True, slots=True)
class Working:
    """How a severity was worked out; each way stands once on the page."""

    number: int
    scored: Scored

    @property
    def band(self) -> Band:
        """Return the band of the score."""
        return band_of(self.scored.score)

    @property
    def kind(self) -> str:
        """Return what the score is, such as ``base score``."""
        return self.scored.steps[-1].name.lower()


@dataclass(frozen=True, slots=True)
class Workings:
    """The workings of every base vector and of every finding's vector, highest score first."""

    all: tuple[Working, ...]
    _by_steps: Mapping[tuple[str, tuple[Step, ...]], Working]

    def of(self, scored: Scored) -> Working:
        """Return the working of a score."""
        return self._by_steps[(scored.vector, scored.steps)]


def workings_of(program: Program, cards: Iterable[CardAssessment]) -> Workings:
    """Return how the weights of the rules and the severities of the findings were worked out."""
    scores = {(scored.vector, scored.steps): scored for scored in _base_scores(program)}
    for card in cards:
        for finding in card.findings:
            scores[(finding.severity.vector, finding.severity.steps)] = finding.severity
    ordered = sorted(scores.items(), key=_highest_first)
    by_steps = {key: Working(number, scored) for number, (key, scored) in enumerate(ordered)}
    return Workings(tuple(by_steps.values()), by_steps)


def _base_scores(program: Program) -> Iterator[Scored]:
    return (base_score(rule.vector) for rule in program.rules)


def _highest_first(item: tuple[tuple[str, tuple[Step, ...]], Scored]) -> tuple[Decimal, str, int]:
    (vector, steps), scored = item
    return (-scored.score, vector, len(steps))


@dataclass(frozen=True, slots=True)
class Change:
    """A parameter that the site changed, and what the ruleset says."""

    parameter: Parameter
    site: str
    ruleset: str


def changes_of(program: Program) -> tuple[Change, ...]:
    """Return the parameters that the site set, with the value of the ruleset beside."""
    usual = usual_parameters(program)
    return tuple(
        Change(parameter, quantity(parameter), quantity(usual[name]))
        for name, parameter in program.tailoring.parameters.items()
    )


def environments_of(program: Program) -> Iterator[tuple[Environment, str]]:
    """Yield every environment in force with its metrics as a vector, that of the unknown load last."""
    tailored = program.tailoring.environments
    for feeds in dict.fromkeys((*DEFAULT_ENVIRONMENTS, *tailored)):
        environment = environment_of(feeds, tailored)
        yield environment, "/".join(f"{name}:{value}" for name, value in environment.metrics.items())
    yield UNKNOWN_ENVIRONMENT, ""
