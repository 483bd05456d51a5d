"""Recipes for who may come from where: filters that let the technician in, and ports."""

from collections.abc import Iterator
from ipaddress import ip_address, ip_network
from typing import Any, Final

from auditor.facts.services import OWN_NAMES, REGISTERED_PORTS, services_on_foreign_ports, services_open_to_any
from auditor.procedure.bench import Bench
from auditor.procedure.edit import Edit
from auditor.record.settings import Settings

_FILTER: Final = ("network", "allowed_sources")
_OTHERS: Final = "the management stations, the monitoring system and the protected machines, as the site lists them"


def narrow_sources(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Let in what is narrow enough already and the technician's own address; the site adds its own.

    Nothing where the technician's address was not given: it can't be seen then that the filter
    would let them in.
    """
    sources = record.get("network", {}).get("allowed_sources")
    if sources and bench.own_address:
        kept = [prefix for prefix in sources.get("prefixes", ()) if _is_narrow(prefix, bench)]
        yield _sources(_FILTER, kept, bench)


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
        if port is not None:
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


def _holds(prefix: str, address: str) -> bool:
    network, own = ip_network(prefix, strict=False), ip_address(address)
    return network.version == own.version and own in network


def _is_narrow(prefix: str, bench: Bench) -> bool:
    version = 6 if ":" in prefix else 4
    least = bench.value(f"source_prefix_ipv{version}_bits_minimum", {4: 24, 6: 64}[version])
    # Beside prefixes of the least length there is room for no others: a /24 leaves it.
    floor = max(int(str(least)), 24 if version == 4 else 0)  # noqa: PLR2004 - IP version
    return int(prefix.rpartition("/")[2]) >= floor
