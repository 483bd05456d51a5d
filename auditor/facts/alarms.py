"""Facts: who is told of an alarm, on which ways, and when each way was last proved.

Three ways lead off the card: mail, SNMP notifications, and a remote collector that is sent
power events. Each is taken as set up, not as reached: reaching is what a test proves.
"""

from collections.abc import Sequence

from auditor.facts.calendar_day import days_since
from auditor.facts.fact import Context, Settings, fact

_EMPTY: Settings = {}
_WAYS_WANTED = 2


@fact(
    reads=["/mail/recipients", "/mail/enabled", "/snmp/receivers", "/log/collectors", "/log/events"],
    source="common practice, no source",
)
def has_alarm_path(record: Settings, _context: Context) -> bool | None:
    """Tell whether at least one way leads an alarm off the card.

    Mail counts when it is on and an enabled recipient has alarms selected; SNMP when an
    enabled receiver has; a collector when one is enabled and power events are logged.
    """
    mail = _mail_path(record)
    return mail or _any((mail, _snmp_path(record), _collector_path(record)))


@fact(
    reads=["/mail/recipients", "/mail/enabled", "/snmp/receivers", "/log/collectors", "/log/events"],
    source="common practice, no source",
)
def has_second_alarm_path(record: Settings, _context: Context) -> bool | None:
    """Tell whether alarms leave the card on at least two of the three ways.

    Two recipients of one mail server are one way: they are lost together.
    """
    paths = (_mail_path(record), _snmp_path(record), _collector_path(record))
    if paths.count(True) >= _WAYS_WANTED:
        return True
    return None if paths.count(False) < _WAYS_WANTED else False


@fact(
    reads=["/mail/recipients", "/mail/enabled", "/snmp/receivers"],
    source="common practice, no source",
)
def alarms_sent(record: Settings, _context: Context) -> tuple[str, ...] | None:
    """List the kinds of alarm that somebody is sent by mail or SNMP, in order of the alphabet.

    Empty when neither way is set up. Collectors are left out: they are sent events.
    """
    mail = record.get("mail", _EMPTY)
    mailed = () if mail.get("enabled") is False else _selected(mail.get("recipients"))
    notified = _selected(record.get("snmp", _EMPTY).get("receivers"))
    if mailed is None or notified is None or (mailed and mail.get("enabled") is None):
        return None
    return tuple(sorted({*mailed, *notified}))


@fact(reads=["/mail/tested_on"], source="common practice, no source", unit="days", by_day=True)
def mail_test_age_days(record: Settings, context: Context) -> int | None:
    """Count the days since a test mail was seen to arrive."""
    return days_since(record.get("mail", _EMPTY).get("tested_on"), context)


@fact(
    reads=["/tested_on"],
    source="common practice, no source",
    unit="days",
    about="/snmp/receivers",
    by_day=True,
)
def receiver_test_age_days(member: Settings, _record: Settings, context: Context) -> int | None:
    """Count the days since a test notification was seen to arrive at this receiver."""
    return days_since(member.get("tested_on"), context)


@fact(
    reads=["/tested_on"],
    source="common practice, no source",
    unit="days",
    about="/log/collectors",
    by_day=True,
)
def collector_test_age_days(member: Settings, _record: Settings, context: Context) -> int | None:
    """Count the days since a test event was seen to arrive at this collector."""
    return days_since(member.get("tested_on"), context)


@fact(reads=["/mail/from_address"], source="RFC 5321 section 4.1.2: a mailbox is local part, @, domain")
def sender_is_mailbox(record: Settings, _context: Context) -> bool | None:
    """Tell whether the sender of alarm mail has a local part and a domain."""
    sender = record.get("mail", _EMPTY).get("from_address")
    if sender is None:
        return None
    local, _, domain = sender.rpartition("@")
    return bool(local and domain) and len(sender.split()) == 1


def _mail_path(record: Settings) -> bool | None:
    mail = record.get("mail", _EMPTY)
    enabled = mail.get("enabled")
    if enabled is False:
        return False
    reaches = _reaches_one(mail.get("recipients"))
    return reaches if enabled or reaches is False else None


def _snmp_path(record: Settings) -> bool | None:
    return _reaches_one(record.get("snmp", _EMPTY).get("receivers"))


def _collector_path(record: Settings) -> bool | None:
    log = record.get("log", _EMPTY)
    events, collectors = log.get("events"), log.get("collectors")
    if events is not None and "power_event" not in events:
        return False
    listens = None if collectors is None else _any([collector.get("enabled") for collector in collectors])
    return None if listens and events is None else listens


def _reaches_one(members: list[Settings] | None) -> bool | None:
    """Tell whether some member is enabled and has alarms selected."""
    if members is None:
        return None
    answer: bool | None = False
    for member in members:
        enabled, alarms = member.get("enabled"), member.get("alarms")
        if enabled and alarms:
            return True
        if enabled is not False and (alarms or alarms is None):
            answer = None
    return answer


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


def _any(parts: Sequence[bool | None]) -> bool | None:
    """Join by Kleene's strong disjunction."""
    return True if True in parts else (None if None in parts else False)
