"""Facts on the capture of a record: how old it is."""

from auditor.facts.fact import Context, Settings, fact
from auditor.facts.moment import moment_of

_EMPTY: Settings = {}


@fact(reads=("/capture/taken_at",), source="common practice, no source", unit="days")
def capture_age_days(record: Settings, context: Context) -> int | None:
    """Whole days since the settings were captured, rounded down; negative for a later capture."""
    taken = moment_of(record.get("capture", _EMPTY).get("taken_at"))
    return None if taken is None else (context.as_of - taken).days
