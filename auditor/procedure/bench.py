"""What a mend may look at beside the record: the moment, the thresholds, where the technician is."""

from collections.abc import Mapping

from auditor.dataclass import dataclass, replace
from auditor.facts.fact import Context, Fact
from auditor.rules.rule import Parameter


@dataclass(frozen=True, slots=True)
class Bench:
    """The surroundings of the mends of one card.

    ``own_address`` is the address that the technician works from, empty where it was not given.
    ``mending`` are the ids of the rules whose findings are to be mended.
    """

    card_id: str
    context: Context
    parameters: Mapping[str, Parameter]
    facts: Mapping[str, Fact]
    own_address: str = ""
    mending: frozenset[str] = frozenset()

    def value(self, parameter: str, usual: object) -> object:
        """Return the value of a parameter, or the usual one where no ruleset has it."""
        return self.parameters[parameter].value if parameter in self.parameters else usual

    def also_mending(self, rules: frozenset[str]) -> "Bench":
        """Return the same surroundings with more rules to mend."""
        return replace(self, mending=self.mending | rules)
