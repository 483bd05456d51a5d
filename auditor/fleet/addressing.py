"""Addresses of many cards: which are used twice, and which subnets cut across each other.

Cards come in one by one; of each, only its name and its addresses are kept, packed. Link-local
and loopback addresses are left out, since every card may have the same. So are addresses of
interfaces, or of protocols, that are known to be off.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from heapq import nsmallest
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network
from typing import Final, Generic, NamedTuple, TypeAlias, TypeVar

from auditor.facts.fact import Settings
from auditor.fleet.card_names import CardNames
from auditor.fleet.packed_addresses import PackedAddresses

_Subnet: TypeAlias = tuple[int, int, int]
"""Version of the protocol, an address as a number, and the length of the prefix."""

_EMPTY: Settings = {}
_BITS: Final = {4: 32, 6: 128}


class CardPlace(NamedTuple):
    """A card and its site; empty where the record does not tell the site."""

    card: str
    site: str


class SharedAddress(NamedTuple):
    """An address of two or more cards.

    ``first_cards`` are the first ``SHOWN_CARDS`` of the ``cards`` that have it, in the order in
    which they came. ``is_one_site`` tells whether two of all of them stand in one site. That is
    the sure fault; two sites may use the same private addresses (RFC 1918 section 3) and never
    meet. ``are_sites_told`` tells whether each says its site.
    """

    address: IPv4Address | IPv6Address
    first_cards: tuple[CardPlace, ...]
    cards: int
    is_one_site: bool
    are_sites_told: bool


SHOWN_CARDS: Final = 20
"""So many cards of one address are kept; our own figure."""


class Overlap(NamedTuple):
    """A subnet inside a wider one, each with the first card that has it.

    Where the two networks meet, one of the masks is wrong.
    """

    wide: str
    narrow: str
    card_in_wide: CardPlace
    card_in_narrow: CardPlace


class AddressClashes(NamedTuple):
    """What does not go together among the addresses of an estate.

    ``shared`` are addresses of several cards, those of one site first, and ``overlaps`` subnets
    inside wider ones; of each the first ``SHOWN``. ``shared_count`` and ``overlap_count`` count
    them all.
    """

    shared: tuple[SharedAddress, ...]
    overlaps: tuple[Overlap, ...]
    shared_count: int
    overlap_count: int


SHOWN: Final = 100
"""So many addresses, and so many subnets, are kept to be shown; our own figure."""


class EstateAddresses:
    """Takes cards one by one and tells at the end what does not go together."""

    def __init__(self, cards: CardNames) -> None:
        """Start with no card; ``cards`` knows them by number."""
        self._cards = cards
        self._addresses = {version: PackedAddresses(bits) for version, bits in _BITS.items()}
        self._subnets: dict[_Subnet, int] = {}

    def add(self, record: Settings, number: int) -> None:
        """Add one card, by its number."""
        for version, value, bits in set(_interfaces(record)):
            self._addresses[version].add(value, number)
            whole = _BITS[version]
            if bits < whole:
                self._subnets.setdefault((version, value >> whole - bits << whole - bits, bits), number)

    def clashes(self) -> AddressClashes:
        """Return what does not go together."""
        shared, overlaps = _Counted(self.shared()), _Counted(self.overlaps())
        shown = nsmallest(SHOWN, shared, key=_sure_first)
        first = tuple(overlap for at, overlap in enumerate(overlaps) if at < SHOWN)
        return AddressClashes(tuple(shown), first, shared.count, overlaps.count)

    def shared(self) -> Iterator[SharedAddress]:
        """Yield the addresses that several cards have, in no order."""
        for version, form in ((4, IPv4Address), (6, IPv6Address)):
            for value, numbers in self._addresses[version].of_several_cards():
                yield self._shared(form(value), numbers)

    def overlaps(self) -> Iterator[Overlap]:
        """Yield each subnet that lies in a wider one of the estate, with the narrowest such.

        IPv4 first, each family in order.
        """
        for version in _BITS:
            found = sorted(subnet for subnet in self._subnets if subnet[0] == version)
            yield from self._nested(found)

    def _place(self, number: int) -> CardPlace:
        name = self._cards.of(number)
        return CardPlace(name.id, name.site)

    def _shared(self, address: IPv4Address | IPv6Address, numbers: Sequence[int]) -> SharedAddress:
        sites = Counter(self._cards.of(number).site for number in numbers)
        untold = sites.pop("", 0)
        first = tuple(self._place(number) for number in numbers[:SHOWN_CARDS])
        is_one_site = any(cards > 1 for cards in sites.values())
        return SharedAddress(address, first, len(numbers), is_one_site, not untold)

    def _nested(self, ordered: list[_Subnet]) -> Iterator[Overlap]:
        around: list[_Subnet] = []
        for subnet in ordered:
            while around and not _holds(around[-1], subnet):
                around.pop()
            if around:
                cards = (self._place(self._subnets[net]) for net in (around[-1], subnet))
                yield Overlap(_text(around[-1]), _text(subnet), *cards)
            around.append(subnet)


_Item = TypeVar("_Item")


def _sure_first(one: SharedAddress) -> tuple[bool, int, int]:
    """Return what orders shared addresses: the sure faults, then IPv4, then by number."""
    return (not one.is_one_site, one.address.version, int(one.address))


class _Counted(Generic[_Item]):
    """Passes things on one by one and counts them, so that none but those kept stay in memory."""

    def __init__(self, items: Iterable[_Item]) -> None:
        self._items = items
        self.count = 0

    def __iter__(self) -> Iterator[_Item]:
        for item in self._items:
            self.count += 1
            yield item


def _holds(wide: _Subnet, narrow: _Subnet) -> bool:
    """Return whether a subnet holds another, of the same version, that begins where it does or later."""
    return narrow[1] >> _BITS[wide[0]] - wide[2] == wide[1] >> _BITS[wide[0]] - wide[2]


def _text(subnet: _Subnet) -> str:
    version, value, bits = subnet
    form = IPv4Network if version == 4 else IPv6Network  # noqa: PLR2004 - the protocol's number
    return str(form((value, bits)))


def _interfaces(record: Settings) -> Iterator[_Subnet]:
    """Yield the addresses of a card that others could meet; an unknown prefix length is the whole."""
    for interface in record.get("network", _EMPTY).get("interfaces", ()):
        if interface.get("enabled") is not False:
            for settings in _settings_of_addresses(interface):
                found = _read(settings.get("address"), settings.get("prefix_length"))
                if found is not None:
                    yield found


def _settings_of_addresses(interface: Settings) -> Iterator[Settings]:
    four, six = interface.get("ipv4", _EMPTY), interface.get("ipv6", _EMPTY)
    if four.get("enabled") is not False:
        yield four
    if six.get("enabled") is not False:
        yield from six.get("addresses", ())


def _read(text: str | None, bits: int | None) -> _Subnet | None:
    """Return an address with its version; a zone counts for nothing. None for what none could share."""
    if text is None:
        return None
    parts = text.split(".")
    if len(parts) == 4 and ":" not in text:  # noqa: PLR2004 - octets; the usual case, made cheap
        value = int(parts[0]) << 24 | int(parts[1]) << 16 | int(parts[2]) << 8 | int(parts[3])
        version = 4
        is_own = value >> 16 == _LINK_LOCAL or value >> 24 == _LOOPBACK
    else:
        value, version = int(IPv6Address(text.partition("%")[0])), 6
        is_own = value >> 118 == _LINK_LOCAL_6 or value == _LOOPBACK_6
    whole = _BITS[version]
    return None if is_own or (bits or 0) > whole else (version, value, whole if bits is None else bits)


_LINK_LOCAL: Final = 169 << 8 | 254
_LOOPBACK: Final = 127
_LINK_LOCAL_6: Final = 0xFE80 >> 6
_LOOPBACK_6: Final = 1
"""The heads of 169.254.0.0/16 (RFC 3927), 127.0.0.0/8 (RFC 6890 section 2.2) and fe80::/10 (RFC 4291
section 2.5.6), and the address ::1 (RFC 4291 section 2.5.3)."""
