"""Facts: who is told of an alarm, on which ways, and when each way was last proved.

Three ways lead off the card: mail, SNMP notifications, and a remote collector that is sent
power events. Each is taken as set up, not as reached: reaching is what a test proves.
"""

from collections.abc import Iterable

from auditor.facts.calendar_day import days_since
from auditor.facts.fact import Context, Settings, fact


@fact(
    reads=["/mail/recipients", "/mail/enabled", "/snmp/receivers", "/log/collectors", "/log/events"],
    source="common practice, no source",
)
def has_alarm_path(record: Settings, _context: Context) -> bool | None:
    """Tell whether at least one way leads an alarm off the card.

    Mail counts when it is on and an enabled recipient has alarms selected; SNMP when an
    enabled receiver has; a collector when one is enabled and power events are logged.
    """
    return _any(_paths(record))


@fact(
    reads=["/mail/recipients", "/mail/enabled", "/snmp/receivers", "/log/collectors", "/log/events"],
    source="common practice, no source",
)
def has_second_alarm_path(record: Settings, _context: Context) -> bool | None:
    """Tell whether alarms leave the card on at least two of the three ways.

    Two recipients of one mail server are one way: they are lost together.
    """
    paths = _paths(record)
    if paths.count(True) >= 2:  # noqa: PLR2004 - two is what the name says
        return True
    return None if paths.count(True) + paths.count(None) >= 2 else False  # noqa: PLR2004


@fact(
    reads=["/mail/recipients", "/mail/enabled", "/snmp/receivers"],
    source="common practice, no source",
)
def alarms_sent(record: Settings, _context: Context) -> tuple[str, ...] | None:
    """List the kinds of alarm that somebody is sent by mail or SNMP, in order of the alphabet.

    Empty when neither way is set up. Collectors are left out: they are sent events.
    """
    mail = record.get("mail", {})
    mailed = () if mail.get("enabled") is False else _selected(mail.get("recipients"))
    notified = _selected(record.get("snmp", {}).get("receivers"))
    if mailed is None or notified is None or (mailed and mail.get("enabled") is None):
        return None
    return tuple(sorted({*mailed, *notified}))


@fact(reads=["/mail/tested_on"], source="common practice, no source", unit="days")
def mail_test_age_days(record: Settings, context: Context) -> int | None:
    """Count the days since a test mail was seen to arrive."""
    return days_since(record.get("mail", {}).get("tested_on"), context)


@fact(reads=["/tested_on"], source="common practice, no source", unit="days", about="/snmp/receivers")
def receiver_test_age_days(member: Settings, _record: Settings, context: Context) -> int | None:
    """Count the days since a test notification was seen to arrive at this receiver."""
    return days_since(member.get("tested_on"), context)


@fact(reads=["/tested_on"], source="common practice, no source", unit="days", about="/log/collectors")
def collector_test_age_days(member: Settings, _record: Settings, context: Context) -> int | None:
    """Count the days since a test event was seen to arrive at this collector."""
    return days_since(member.get("tested_on"), context)


@fact(reads=["/mail/from_address"], source="RFC 5321 section 4.1.2: a mailbox is local part, @, domain")
def sender_is_mailbox(record: Settings, _context: Context) -> bool | None:
    """Tell whether the sender of alarm mail has a local part and a domain."""
    sender = record.get("mail", {}).get("from_address")
    if sender is None:
        return None
    local, _, domain = sender.rpartition("@")
    return bool(local and domain) and not any(character.isspace() for character in sender)


def _paths(record: Settings) -> tuple[bool | None, ...]:
    mail, log = record.get("mail", {}), record.get("log", {})
    events = log.get("events")
    logged = None if events is None else "power_event" in events
    return (
        _both(mail.get("enabled"), _reaches_one(mail.get("recipients"))),
        _reaches_one(record.get("snmp", {}).get("receivers")),
        _both(logged, _one_enabled(log.get("collectors"))),
    )


def _reaches_one(members: list[Settings] | None) -> bool | None:
    if members is None:
        return None
    return _any(_both(member.get("enabled"), _has_alarms(member)) for member in members)


def _has_alarms(member: Settings) -> bool | None:
    alarms = member.get("alarms")
    return None if alarms is None else bool(alarms)


def _one_enabled(members: list[Settings] | None) -> bool | None:
    return None if members is None else _any(member.get("enabled") for member in members)


def _selected(members: list[Settings] | None) -> set[str] | None:
    """Return the alarms selected for enabled members, or None where something is not captured."""
    if members is None:
        return None
    found: set[str] = set()
    for member in members:
        alarms = () if member.get("enabled") is False else member.get("alarms")
        if alarms is None or (alarms and member.get("enabled") is None):
            return None
        found.update(alarms)
    return found


def _any(parts: Iterable[bool | None]) -> bool | None:
    """Join by Kleene's strong disjunction."""
    seen = set(parts)
    return True if True in seen else (None if None in seen else False)


def _both(one: bool | None, other: bool | None) -> bool | None:  # noqa: FBT001 - truths are the matter
    """Join by Kleene's strong conjunction."""
    if one is False or other is False:
        return False
    return True if one and other else None
