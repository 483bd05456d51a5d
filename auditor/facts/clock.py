"""Facts on the card's clock: its servers, and how far off it was when captured."""

from collections import Counter

from auditor.facts.fact import Context, Settings, fact
from auditor.facts.moment import moment_of

_EMPTY: Settings = {}


@fact(reads=("/time/servers",), source="RFC 8633 section 3.2", unit="servers")
def time_server_count(record: Settings, _context: Context) -> int | None:
    """Count of time servers that are entered; one entered twice counts twice."""
    servers = record.get("time", _EMPTY).get("servers")
    return None if servers is None else len(servers)


@fact(reads=("/time/servers",), source="RFC 8633 section 3.2 (independent sources)")
def repeated_time_servers(record: Settings, _context: Context) -> list[str] | None:
    """Hosts that are entered as time server more than once, sorted."""
    servers = record.get("time", _EMPTY).get("servers")
    if servers is None:
        return None
    hosts = [server.get("host", "").lower().rstrip(".") for server in servers]
    known = [host for host in hosts if host]
    if len(set(known)) == len(known):
        return [] if len(known) == len(hosts) or len(hosts) == 1 else None
    return sorted(host for host, times in Counter(known).items() if times > 1)


@fact(
    reads=("/capture/card_clock", "/capture/reference_clock"),
    source="NIST SP 800-53r5 AU-8, SC-45",
    unit="s",
)
def clock_offset_s(record: Settings, _context: Context) -> float | None:
    """Seconds between the card's clock and a trusted one at the capture, either way."""
    capture = record.get("capture", _EMPTY)
    card, reference = moment_of(capture.get("card_clock")), moment_of(capture.get("reference_clock"))
    if card is None or reference is None:
        return None
    return abs((card - reference).total_seconds())
