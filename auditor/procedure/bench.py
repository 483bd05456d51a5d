"""What a mend may look at beside the record: the moment, the thresholds, where the technician is."""

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from auditor.dataclass import dataclass, field, replace
from auditor.facts.fact import Context, Fact
from auditor.procedure.edit import APPEND, Edit
from auditor.rules.rule import Parameter
from auditor.scoring.deviation import Deviation

_Tokens = tuple[str, ...]
_NOTHING: Mapping[_Tokens, Deviation] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Bench:
    """The surroundings of the mends of one card.

    ``own_address`` is the address that the technician works from, empty where it was not given.
    ``mending`` are the ids of the rules whose findings are to be mended. ``accepted`` are the
    settings, by their tokens, that a finding rests on for which somebody answers.
    """

    card_id: str
    context: Context
    parameters: Mapping[str, Parameter]
    facts: Mapping[str, Fact]
    own_address: str = ""
    mending: frozenset[str] = frozenset()
    accepted: Mapping[_Tokens, Deviation] = field(default=_NOTHING)

    def value(self, parameter: str, usual: object) -> object:
        """Return the value of a parameter, or the usual one where no ruleset has it."""
        return self.parameters[parameter].value if parameter in self.parameters else usual

    def also_mending(self, rules: frozenset[str]) -> "Bench":
        """Return the same surroundings with more rules to mend."""
        return replace(self, mending=self.mending | rules)

    def accepting(self, edit: Edit) -> Deviation | None:
        """Return the deviation that accepts what a change would change, or a part of it."""
        place = edit.tokens[:-1] if edit.tokens[-1] == APPEND else edit.tokens
        if place in self.accepted:
            return self.accepted[place]
        return next((self.accepted[at] for at in self.accepted if at[: len(place)] == place), None)

    def allowed(self, edits: Iterable[Edit]) -> tuple[Edit, ...]:
        """Return the changes of one mend that change nothing accepted.

        What it enters beside such a setting, in the same object, is right only along with it.
        """
        edits = tuple(edits)
        kept = {edit.tokens[:-1] for edit in edits if self.accepting(edit)}
        return tuple(edit for edit in edits if edit.tokens[:-1] not in kept)
