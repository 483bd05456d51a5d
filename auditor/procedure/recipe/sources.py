"""Recipes for who may come from where: filters that let the technician in, and ports."""

from collections.abc import Iterator
from ipaddress import ip_address, ip_network
from typing import Any, Final

from auditor.facts.services import (
    OWN_NAMES,
    REGISTERED_PORTS,
    services_on_foreign_ports,
    services_open_to_any,
)
from auditor.facts.sources import address_count
from auditor.procedure.bench import Bench
from auditor.procedure.edit import Edit, EditKind
from auditor.record.settings import Settings

_FILTER: Final = ("network", "allowed_sources")
_FREE_PORT: Final = "A port above 49151, registered for nobody, that the other side is set to as well"
_OTHERS: Final = (
    "the management stations, the monitoring system and the protected machines, as the site lists them"
)


def narrow_sources(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Let in what is narrow enough already and the technician's own address; the site adds its own.

    Nothing where the technician's address was not given: it can't be seen then that the filter
    would let them in.
    """
    sources = record.get("network", {}).get("allowed_sources")
    if sources and bench.own_address:
        narrow = [prefix for prefix in sources.get("prefixes", ()) if _is_narrow(prefix, bench)]
        yield _sources(_FILTER, _few(narrow, bench), bench)


def narrow_services(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Let only the technician's own address use each service that is open to all; the site adds its own."""
    found = services_open_to_any.compute(record, bench.context)
    if bench.own_address and isinstance(found, tuple):
        for service in found:
            yield _sources(("services", service, "allowed_sources"), [], bench)


def registered_ports(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Put each service that stands on a foreign port back on its own."""
    found = services_on_foreign_ports.compute(record, bench.context)
    for text in found if isinstance(found, tuple) else ():
        service = str(text).partition(" ")[0]
        port = _own_port(service)
        if port is None:
            yield Edit(("services", service, "port"), kind=EditKind.ASKED, note=_FREE_PORT)
        else:
            yield Edit(("services", service, "port"), port)


def _own_port(service: str) -> int | None:
    names = OWN_NAMES.get(service, ())
    ports = [port for (name, _), port in REGISTERED_PORTS.items() if name in names]
    return ports[0] if ports else None


def _sources(tokens: tuple[str, ...], kept: list[str], bench: Bench) -> Edit:
    own = str(ip_network(bench.own_address))
    inside = any(_holds(prefix, bench.own_address) for prefix in kept)
    prefixes = kept if inside else [*kept, own]
    value: dict[str, Any] = {"prefixes": prefixes}
    return Edit(tokens, value, note=f"First {own}, from where you work; then {_OTHERS}. Nothing else")


def _few(prefixes: list[str], bench: Bench) -> list[str]:
    """Return prefixes without the widest of them, until few enough addresses are let in."""
    most = int(str(bench.value("filter_ipv4_addresses_maximum", 65536)))
    kept = list(prefixes)
    while kept and (address_count({"prefixes": kept}, ipv6=False) or 0) >= most:
        kept.remove(min(kept, key=lambda prefix: int(prefix.rpartition("/")[2])))
    return kept


def _holds(prefix: str, address: str) -> bool:
    network, own = ip_network(prefix, strict=False), ip_address(address)
    return network.version == own.version and own in network


def _is_narrow(prefix: str, bench: Bench) -> bool:
    version = 6 if ":" in prefix else 4
    least = bench.value(f"source_prefix_ipv{version}_bits_minimum", {4: 24, 6: 64}[version])
    # Beside prefixes of the least length there is room for no others: a /24 leaves it.
    floor = max(int(str(least)), 24 if version == 4 else 0)  # noqa: PLR2004 - IP version
    return int(prefix.rpartition("/")[2]) >= floor
