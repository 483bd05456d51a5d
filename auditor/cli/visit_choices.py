"""What the commands of a visit were asked for; imports nothing heavy."""

from datetime import datetime
from typing import NamedTuple


class VisitChoices(NamedTuple):
    """What a command of a visit was asked for."""

    paths: tuple[str, ...]
    rulesets: tuple[str, ...]
    site: str | None
    deviations: str | None
    findings: str | None
    own_address: str
    window: int | None
    restart_minutes: int
    as_of: datetime

    @property
    def inputs(self) -> list[str]:
        """Return every file that is read, so that none is written over."""
        return [*self.paths, *self.rulesets, *filter(None, (self.site, self.deviations, self.findings))]
