"""Facts on the capture of a record: how old it is, and how it is kept."""

from auditor.facts.fact import Context, Settings, fact
from auditor.facts.moment import moment_of
from auditor.record.secret_place import is_clear, secrets_of

_EMPTY: Settings = {}


@fact(reads=("/capture/taken_at",), source="common practice, no source", unit="days", by_day=True)
def capture_age_days(record: Settings, context: Context) -> int | None:
    """Whole days since the settings were captured, rounded down; negative for a later capture."""
    taken = moment_of(record.get("capture", _EMPTY).get("taken_at"))
    return None if taken is None else (context.as_of - taken).days


@fact(reads=("/capture/taken_at",), source="common practice, no source", unit="days", by_day=True)
def capture_lead_days(record: Settings, context: Context) -> int | None:
    """Days by which the capture is dated after the audit, rounded up; 0 where it is not."""
    taken = moment_of(record.get("capture", _EMPTY).get("taken_at"))
    return None if taken is None else max(0, -(context.as_of - taken).days)


@fact(reads=("/capture",), source="NIST SP 800-53r5 IA-5; common practice, no source")
def clear_secrets_in_work_tree(record: Settings, context: Context) -> bool | None:
    """Whether the record holds clear secrets and lies in a version-control work tree.

    Where nobody looked where it lies, only a record without clear secrets is safe to say.
    """
    if context.in_work_tree is False:
        return False
    return context.in_work_tree if any(is_clear(secret) for _, secret in secrets_of(record)) else False
