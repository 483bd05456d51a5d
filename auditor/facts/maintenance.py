"""Facts on firmware and on backups of the settings."""

import re
from functools import lru_cache

from auditor.facts.calendar_day import days_since
from auditor.facts.fact import Context, Settings, fact

_NUMBERS = re.compile(r"[vV]?([0-9]+(?:\.[0-9]+)*)")


@fact(reads=["/card/firmware_date"], unit="days", source="NIST SP 800-53r5 SI-2", by_day=True)
def firmware_age_days(record: Settings, context: Context) -> int | None:
    """Count the days since the running firmware was published."""
    return days_since(record["card"].get("firmware_date"), context)


@fact(
    reads=["/maintenance/firmware/last_checked_on"], unit="days", source="NIST SP 800-53r5 SI-2", by_day=True
)
def firmware_checked_days_ago(record: Settings, context: Context) -> int | None:
    """Count the days since somebody last looked for newer firmware."""
    firmware = record.get("maintenance", {}).get("firmware", {})
    return days_since(firmware.get("last_checked_on"), context)


@fact(reads=["/maintenance/backup/exists", "/maintenance/backup/last_on"], source="NIST SP 800-53r5 CP-9")
def has_backup(record: Settings, _context: Context) -> bool | None:
    """Say whether a backup of the settings exists.

    A backup with a date exists, whether or not the record says so. One that has a date and
    is said not to exist is a contradiction: unknown.
    """
    backup = record.get("maintenance", {}).get("backup", {})
    exists: bool | None = backup.get("exists")
    if "last_on" in backup:
        return None if exists is False else True
    return exists


@fact(reads=["/maintenance/backup/last_on"], unit="days", source="NIST SP 800-53r5 CP-9", by_day=True)
def backup_age_days(record: Settings, context: Context) -> int | None:
    """Count the days since the settings were last backed up."""
    return days_since(record.get("maintenance", {}).get("backup", {}).get("last_on"), context)


class ReachedVersions(tuple[str, ...]):
    """The running version, of which ``in`` asks whether it is at least another version.

    So ``"2.4" in ReachedVersions(["3.0.1"])`` is true: whoever runs 3.0.1 has all that came
    with 2.4. A text without a leading number is reached by none.
    """

    __slots__ = ()

    def __contains__(self, wanted: object) -> bool:
        """Return whether some version held here equals or follows ``wanted``."""
        least = version_parts(str(wanted))
        return bool(least) and any(version_parts(held) >= least for held in self)


@fact(reads=["/card/firmware_version"], source="common practice, no source")
def firmware_reaches(record: Settings, _context: Context) -> ReachedVersions | None:
    """Return the versions that the running firmware equals or follows."""
    version = record["card"].get("firmware_version")
    return ReachedVersions([version]) if version and version_parts(version) else None


@lru_cache(maxsize=1024)
def version_parts(text: str) -> tuple[int, ...]:
    """Return the numbers of a version, major first, without closing zeros; empty for none.

    A leading ``v`` and a suffix such as ``-b2`` don't count: 3.4, v3.4.0 and 3.4-b2 are equal.
    """
    match = _NUMBERS.match(text.strip())
    if match is None:
        return ()
    parts = [int(number) for number in match[1].split(".")]
    while len(parts) > 1 and not parts[-1]:
        parts.pop()
    return tuple(parts)
