"""Which ways in an administrator has left, and whether a change may be made without losing the last."""

from collections.abc import Callable, Iterable
from functools import lru_cache
from ipaddress import ip_address, ip_network
from typing import Final, NamedTuple, TypeAlias

from auditor.facts.fact import Context
from auditor.facts.reach.way import Channel, Origin, Place, Way
from auditor.facts.reach.ways import administrator_ways
from auditor.procedure.edit import Edit
from auditor.record.settings import Settings

_FOR_PEOPLE: Final = (
    Channel.HTTPS,
    Channel.SSH,
    Channel.SERIAL_CONSOLE,
    Channel.HTTP,
    Channel.TELNET,
)
"""Channels over which a person can put a card right again, the best to work over first."""


class WayIn(NamedTuple):
    """A way in for an administrator, in words: over what, as whom.

    ``is_central`` tells that it needs a directory that answers. ``condition`` says that it is
    open only while the directory can't be reached; empty where it always is.
    """

    channel: str
    party: str
    is_central: bool
    condition: str = ""

    def __str__(self) -> str:
        """Word it."""
        return ", ".join(filter(None, (_TITLES[self.channel], self.party, self.condition)))

    @property
    def how_to_prove(self) -> str:
        """Word it for somebody who is to log in over it now."""
        now = self._replace(condition="with the directory cut off from the card") if self.condition else self
        return str(now)


_TITLES: Final[dict[str, str]] = {
    "https": "HTTPS",
    "ssh": "SSH",
    "serial_console": "the serial console",
    "http": "HTTP",
    "telnet": "Telnet",
}

WaysIn: TypeAlias = Callable[[Settings], tuple[WayIn, ...]]
"""Returns the ways in that are surely open to an administrator, the best to work over first."""


def ways_in(context: Context, own_address: str = "") -> WaysIn:
    """Return the function that finds the ways in of a record at a moment.

    Where the technician's address is given, only ways that are surely open from there count.
    """

    def found(record: Settings) -> tuple[WayIn, ...]:
        ways = [
            way
            for way in administrator_ways(record, context)
            if way.channel in _FOR_PEOPLE and _lets_in(way.origin, own_address)
        ]
        return tuple(_worded(way) for way in sorted(ways, key=_rank))

    return found


_READ: Final = frozenset({"card", "network", "services", "accounts", "directory", "ssh"})
"""Sections that decide about the ways in for people."""


def touches_ways(edits: Iterable[Edit]) -> bool:
    """Return whether changes touch a section that decides about the ways in for people."""
    return any(edit.tokens[0] in _READ for edit in edits)


def keeps_a_way(before: tuple[WayIn, ...], after: tuple[WayIn, ...]) -> bool:
    """Return whether a change leaves an administrator a way in.

    One while the directory answers, and one while it doesn't: it may be down when it is needed
    most, and a local account that is only its fallback lets nobody in until then.
    """
    return bool(after) and all(
        any(map(is_open, after)) or not any(map(is_open, before))
        for is_open in (is_open_beside, _is_open_without)
    )


def is_open_beside(way: WayIn) -> bool:
    """Return whether a way is open while the directory, if there is one, answers."""
    return not way.condition


def _is_open_without(way: WayIn) -> bool:
    return not way.is_central


def way_to_prove(before: tuple[WayIn, ...], after: tuple[WayIn, ...], needs: Iterable[str]) -> WayIn | None:
    """Return the way in to prove before a step: one that is there by then, and stays.

    Best one that the step itself asks for: ``needs`` are its words for what is to be ready.
    """
    kept = [way for way in before if way in after]
    meant = (way for word in needs for way in kept if _is_meant(word, way))
    return next(meant, kept[0] if kept else None)


def _is_meant(word: str, way: WayIn) -> bool:
    return way.channel == word or (word == "administrator" and way.party.startswith("account "))


def is_over_network(ways: tuple[WayIn, ...]) -> bool:
    """Return whether one of the ways is over the network and needs no directory."""
    return any(not way.is_central and way.channel != Channel.SERIAL_CONSOLE for way in ways)


def _lets_in(origin: Origin, address: str) -> bool:
    """Tell whether a way is surely open from an address; at the card it needs none."""
    if not address or origin.place is not Place.NETWORK or origin.any_address:
        return True
    return any(_holds(prefix, address) for prefix in origin.prefixes or ())


@lru_cache(maxsize=4096)
def _holds(prefix: str, address: str) -> bool:
    network, own = ip_network(prefix, strict=False), ip_address(address)
    return network.version == own.version and own in network


def _worded(way: Way) -> WayIn:
    return WayIn(str(way.channel), way.party, _is_central(way), way.condition)


def _is_central(way: Way) -> bool:
    """Return whether a way needs a directory: it rests on one, and on no account of the card.

    Whoever shows a key in the place of a password is still looked up there.
    """
    rests_on = {setting.split("/")[1] for setting in way.settings}
    return "directory" in rests_on and "accounts" not in rests_on


def _rank(way: Way) -> tuple[bool, int]:
    return bool(way.condition), _FOR_PEOPLE.index(way.channel)
