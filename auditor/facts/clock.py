"""Facts on the card's clock: its servers, how far off it was when captured, how far it may drift."""

from collections import Counter
from functools import lru_cache
from ipaddress import ip_address, ip_network
from typing import Final

from auditor.facts.fact import Context, Settings, fact
from auditor.facts.moment import moment_of

_EMPTY: Settings = {}
_SET_BY_OTHERS: Final = frozenset({"ntp", "ptp", "host"})

TOLERANCE_PPM: Final = 15.0
"""Frequency tolerance of a disciplined clock. Source: RFC 5905, PHI (15e-6 s/s)."""

_SHARED_BITS: Final = {4: 24, 6: 48}
"""Addresses that agree in so many bits count as one source: common practice, no source."""


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


@fact(reads=("/time/servers",), source="RFC 8633 section 3.2 (independent sources)", unit="sources")
def independent_time_sources(record: Settings, _context: Context) -> int | None:
    """Count the time servers that have neither name, domain nor subnet in common.

    A name counts by its domain, that is without its first label if more than two are there;
    an address by its /24, in IPv6 by its /48. Whether a name and an address are the same
    machine can't be told from settings.
    """
    servers = record.get("time", _EMPTY).get("servers")
    if servers is None:
        return None
    hosts = [server.get("host") for server in servers]
    return None if None in hosts else len({_source(host) for host in hosts})


@lru_cache(maxsize=1024)  # the cards of an estate share a few servers
def _source(host: str) -> str:
    try:
        address = ip_address(host.partition("%")[0].strip("[]"))
    except ValueError:
        labels = host.lower().rstrip(".").split(".")
        return ".".join(labels[1:] if len(labels) > 2 else labels)  # noqa: PLR2004 - name and domain
    return str(ip_network((address, _SHARED_BITS[address.version]), strict=False))


def drift_s(span_s: float, *, ppm: float = TOLERANCE_PPM) -> float:
    """Return by how many seconds a clock may drift in a span.

    Source: definition of ppm; RFC 5905 rounds 15 ppm to about 1.3 s a day.
    """
    return span_s * ppm * 1e-6


def clock_uncertainty_s(record: Settings, *, ppm: float = TOLERANCE_PPM) -> float | None:
    """Return by how many seconds the time of an event in the card's log may be off.

    The offset measured at the capture, the second by which that measure may be off where a clock
    was read without fractions, and the drift between two looks at the source. None where one is
    unknown, or where the clock is set by hand: then nothing bounds it.
    """
    time = record.get("time", _EMPTY)
    offset = clock_offset_s.compute(record, None)
    interval = time.get("poll_interval_s")
    if time.get("source") not in _SET_BY_OTHERS or interval is None or not isinstance(offset, float):
        return None
    return offset + _reading_s(record["capture"]) + drift_s(interval, ppm=ppm)


def _reading_s(capture: Settings) -> float:
    """Return by how many seconds the difference of the two clocks may be off as it was read.

    A reading without fractions of a second was cut to the whole one.
    """
    return 0.0 if all("." in capture[name] for name in ("card_clock", "reference_clock")) else 1.0
