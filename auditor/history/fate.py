"""What has become of a finding when its card is seen again."""

from collections.abc import Collection, Container
from enum import StrEnum

from auditor.history.card_result import CardResult, FindingKey
from auditor.rules.result import Outcome


class Fate(StrEnum):
    """What has become of a finding.

    ``mended``: its rule judged the card again and was content, or the member is gone. ``lost``:
    the settings that decide were not captured, so nobody knows. ``withdrawn``: the rule no
    longer judges. Only the first says that anything got better.
    """

    OPEN = "open"
    LOST = "lost"
    MENDED = "mended"
    WITHDRAWN = "withdrawn"


class Sighting:
    """What one sweep says of one card, ready to be asked of findings."""

    def __init__(self, result: CardResult, rules: Container[str]) -> None:
        """Take what was said, and the ids of the rules that judged."""
        self.found = {finding.key: finding for finding in result.findings}
        self._undecided: Collection[FindingKey] = frozenset(result.undecided)
        self._rules = rules

    def fate_of(self, key: FindingKey) -> Fate:
        """Return what has become of a finding that was known before."""
        if key in self.found:
            return Fate.OPEN
        if key.rule not in self._rules:
            return Fate.WITHDRAWN
        return Fate.LOST if self._is_unknown(key) else Fate.MENDED

    def _is_unknown(self, key: FindingKey) -> bool:
        # A list that was not captured leaves all of its members open.
        whole = FindingKey(key.rule, "")
        finding = self.found.get(whole)
        not_captured = finding is not None and finding.outcome is Outcome.UNKNOWN
        return not_captured or key in self._undecided or whole in self._undecided
