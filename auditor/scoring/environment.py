"""What a card feeds → the environmental metrics of CCSS; holds no equations.

The metrics say what the site would lose (CDP), how much confidentiality, integrity and
availability count (CR, IR, AR), and how attractive a target the card is (PTV). LVP and LRL are
left alone: how common a weakness is, and what is done against it elsewhere, is not known from
what a card feeds. EC, EI and EA are not used: they would replace a rule's own impact.
"""

from collections.abc import Mapping
from types import MappingProxyType

from auditor.dataclass import dataclass


@dataclass(frozen=True, slots=True)
class Environment:
    """Environmental metrics of the cards that feed one kind of load, with the argument for them.

    No metrics means that severities are base scores.
    """

    feeds: str
    metrics: Mapping[str, str]
    because: str


def _environment(feeds: str, vector: str, because: str) -> Environment:
    metrics = dict(part.split(":") for part in vector.split("/"))
    return Environment(feeds, MappingProxyType(metrics), because)


# CDP follows the losses that CVSS v2 section 2.3.1 (from memory) names for its values: N none,
# L slight, LM moderate, MH significant, H catastrophic. The rest is our own judgement, no source.
DEFAULT_ENVIRONMENTS: Mapping[str, Environment] = MappingProxyType(
    {
        environment.feeds: environment
        for environment in (
            _environment(
                "life_safety", "CDP:H/CR:M/IR:H/AR:H/PTV:H",
                "People may come to harm if the load drops or a false reading hides that it will.",
            ),
            _environment(
                "critical", "CDP:MH/CR:M/IR:M/AR:H/PTV:M",
                "The card can switch off a load whose loss is a significant one: availability first.",
            ),
            _environment(
                "production", "CDP:L/CR:M/IR:M/AR:M/PTV:M",
                "A dropped load stops work for a while: a slight loss, nothing weighed above the rest.",
            ),
            _environment(
                "office", "CDP:N/CR:M/IR:M/AR:L/PTV:L",
                "A dropped load is hardly a loss; the card still holds secrets that open other doors.",
            ),
            _environment(
                "lab", "CDP:N/CR:L/IR:L/AR:L/PTV:L",
                "A dropped load costs nothing that matters, and few would go after it.",
            ),
        )
    }
)  # fmt: skip

UNKNOWN_ENVIRONMENT = Environment(
    "", MappingProxyType({}), "It is not known what the card feeds: severities are base scores."
)

_NONE_TAILORED: Mapping[str, Mapping[str, str]] = MappingProxyType({})


def environment_of(
    feeds: str | None, tailored: Mapping[str, Mapping[str, str]] = _NONE_TAILORED
) -> Environment:
    """Return the environment of a card that feeds this load (None: unknown).

    ``tailored`` are a site's own metrics by load; they replace the defaults of that load wholly.
    """
    if feeds is None:
        return UNKNOWN_ENVIRONMENT
    if feeds in tailored:
        return Environment(feeds, tailored[feeds], "Set by the site.")
    return DEFAULT_ENVIRONMENTS.get(feeds, UNKNOWN_ENVIRONMENT)
