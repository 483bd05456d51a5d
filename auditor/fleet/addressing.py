"""Addresses of many cards: which are used twice, and which subnets cut across each other.

Cards come in one by one; of each, only its name and its addresses are kept, packed. Link-local
and loopback addresses are left out, since every card may have the same. So are addresses of
interfaces, or of protocols, that are known to be off.
"""

from array import array
from collections.abc import Iterator, Mapping
from ipaddress import IPv4Interface, IPv4Network, IPv6Interface, IPv6Network, ip_address, ip_interface
from itertools import groupby
from typing import NamedTuple, TypeAlias

from auditor.facts.fact import Settings

Network: TypeAlias = IPv4Network | IPv6Network

_EMPTY: Settings = {}
_HALF = 64
_LOW = (1 << _HALF) - 1
_CARD_BITS = 32


class CardPlace(NamedTuple):
    """A card and its site; empty where the record does not tell the site."""

    card: str
    site: str


class SharedAddress(NamedTuple):
    """An address of two or more cards, in the order in which they came.

    ``is_one_site`` tells the sure fault from what may be: two sites may use the same private
    addresses (RFC 1918 section 3) and never meet.
    """

    address: str
    cards: tuple[CardPlace, ...]

    @property
    def is_one_site(self) -> bool:
        """Return whether two of the cards stand in one site."""
        sites = [place.site for place in self.cards if place.site]
        return len(set(sites)) < len(sites)


class Overlap(NamedTuple):
    """A subnet inside a wider one, each with the first card that has it.

    Where the two networks meet, one of the masks is wrong.
    """

    wide: str
    narrow: str
    card_in_wide: CardPlace
    card_in_narrow: CardPlace


class EstateAddresses:
    """Takes cards one by one and tells at the end what does not go together."""

    def __init__(self) -> None:
        """Start with no card."""
        self._cards: list[CardPlace] = []
        self._ipv4 = array("Q")
        self._ipv6 = (array("Q"), array("Q"), array("L"))
        self._subnets: dict[Network, int] = {}

    def add(self, record: Settings) -> None:
        """Add one card."""
        number = len(self._cards)
        card = record.get("card", _EMPTY)
        self._cards.append(CardPlace(card.get("id", ""), card.get("site", "")))
        for interface in set(_interfaces(record)):
            self._keep(interface, number)
            if interface.network.prefixlen < interface.max_prefixlen:
                self._subnets.setdefault(interface.network, number)

    def shared(self) -> Iterator[SharedAddress]:
        """Yield the addresses that several cards have: IPv4 first, each family in order."""
        for address, pairs in groupby(sorted(self._ipv4), key=lambda packed: packed >> _CARD_BITS):
            numbers = {packed & (1 << _CARD_BITS) - 1 for packed in pairs}
            yield from self._if_shared(str(ip_address(address)), numbers)
        high, low, cards = self._ipv6
        order = sorted(range(len(cards)), key=lambda at: (high[at], low[at]))
        for (upper, lower), places in groupby(order, key=lambda at: (high[at], low[at])):
            numbers = {cards[at] for at in places}
            yield from self._if_shared(str(IPv6Interface(upper << _HALF | lower).ip), numbers)

    def overlaps(self) -> Iterator[Overlap]:
        """Yield each subnet that lies in a wider one of the estate, with the narrowest such.

        IPv4 first, each family in order.
        """
        for family in (IPv4Network, IPv6Network):
            found = [subnet for subnet in self._subnets if isinstance(subnet, family)]
            yield from self._nested(sorted(found, key=lambda net: (int(net.network_address), net.prefixlen)))

    def _keep(self, interface: IPv4Interface | IPv6Interface, number: int) -> None:
        value = int(interface.ip)
        if interface.version == 4:  # noqa: PLR2004 - the protocol's number
            self._ipv4.append(value << _CARD_BITS | number)
            return
        for column, part in zip(self._ipv6, (value >> _HALF, value & _LOW, number), strict=True):
            column.append(part)

    def _if_shared(self, address: str, numbers: set[int]) -> Iterator[SharedAddress]:
        if len(numbers) > 1:
            yield SharedAddress(address, tuple(self._cards[number] for number in sorted(numbers)))

    def _nested(self, ordered: list[Network]) -> Iterator[Overlap]:
        around: list[Network] = []
        for subnet in ordered:
            while around and int(around[-1].broadcast_address) < int(subnet.network_address):
                around.pop()
            if around:
                wide = around[-1]
                cards = (self._cards[self._subnets[net]] for net in (wide, subnet))
                yield Overlap(str(wide), str(subnet), *cards)
            around.append(subnet)


def _interfaces(record: Settings) -> Iterator[IPv4Interface | IPv6Interface]:
    """Yield the addresses of a card that others could meet, with their prefix length if known."""
    for interface in record.get("network", _EMPTY).get("interfaces", ()):
        if interface.get("enabled") is False:
            continue
        for settings in _settings_of_addresses(interface):
            found = _read(settings)
            if found is not None and not (found.ip.is_link_local or found.ip.is_loopback):
                yield found


def _settings_of_addresses(interface: Settings) -> Iterator[Mapping[str, object]]:
    four, six = interface.get("ipv4", _EMPTY), interface.get("ipv6", _EMPTY)
    if four.get("enabled") is not False:
        yield four
    if six.get("enabled") is not False:
        yield from six.get("addresses", ())


def _read(settings: Mapping[str, object]) -> IPv4Interface | IPv6Interface | None:
    """Return an address; one without a prefix length stands alone. A zone counts for nothing."""
    text, bits = settings.get("address"), settings.get("prefix_length")
    if not isinstance(text, str):
        return None
    address = text.partition("%")[0]
    try:
        return ip_interface(address if bits is None else f"{address}/{bits}")
    except ValueError:
        return None
