"""A way in: over which channel, by whom, with which proof, from where, and what it allows.

Holds the words and the data, and which of two ways is surely easier. Finds no ways: see ``ways``.
"""

from collections.abc import Iterator
from enum import StrEnum
from typing import Final, NamedTuple, TypeAlias

from auditor.facts.sources import intersection

Truth3: TypeAlias = bool | None
"""True, false, or None: the record doesn't tell."""


class Channel(StrEnum):
    """What carries a way; the services by their names in the record."""

    SNMP_V1 = "snmp_v1"
    SNMP_V2C = "snmp_v2c"
    SNMP_V3 = "snmp_v3"
    HTTP = "http"
    HTTPS = "https"
    TELNET = "telnet"
    SSH = "ssh"
    FTP = "ftp"
    TFTP = "tftp"
    SFTP = "sftp"
    SCP = "scp"
    REST_API = "rest_api"
    MODBUS_TCP = "modbus_tcp"
    BACNET_IP = "bacnet_ip"
    MQTT = "mqtt"
    SHUTDOWN_AGENT = "shutdown_agent"
    SERIAL_CONSOLE = "serial_console"
    USB = "usb"
    WIFI = "wifi"
    BLUETOOTH = "bluetooth"
    REMOTE_VENDOR_SERVICE = "remote_vendor_service"


class Proof(StrEnum):
    """What a way asks for before it lets somebody in.

    ``none``: nothing, or a name that anybody may state. ``well_known``: a secret of the list of
    well-known words. ``factory``: the secret that the card was delivered with. ``weak``: a secret
    that is short or made of cheap things. ``adequate``: a secret that is neither. ``strong``: a
    long secret, a second factor, a key or a certificate. ``directory``: whatever a directory asks
    its users for.
    ``unknown``: the record doesn't tell.
    """

    NONE = "none"
    WELL_KNOWN = "well_known"
    FACTORY = "factory"
    WEAK = "weak"
    ADEQUATE = "adequate"
    STRONG = "strong"
    DIRECTORY = "directory"
    UNKNOWN = "unknown"


RANKS: Final = {
    proof: rank
    for rank, proof in enumerate(
        (Proof.NONE, Proof.WELL_KNOWN, Proof.FACTORY, Proof.WEAK, Proof.ADEQUATE, Proof.STRONG)
    )
}
"""The order of proofs that can be compared, easiest first. A directory stands beside it: nothing
but no proof at all is surely easier, and nothing is surely harder."""


class Grade(NamedTuple):
    """Between which proofs the proof of a way lies; both the same where it is known."""

    easiest: Proof
    hardest: Proof

    @property
    def proof(self) -> Proof:
        """Return the proof, ``unknown`` where it may be one of several."""
        return self.easiest if self.easiest is self.hardest else Proof.UNKNOWN

    @property
    def is_sound(self) -> bool:
        """Return whether the proof is surely better than a weak one."""
        return self.easiest is Proof.DIRECTORY or RANKS[self.easiest] > RANKS[Proof.WEAK]

    def is_at_most(self, proof: Proof) -> Truth3:
        """Return whether it is this proof of ``RANKS`` or an easier one; a directory never is."""
        if Proof.DIRECTORY in self:
            return False
        if RANKS[self.hardest] <= RANKS[proof]:
            return True
        return False if RANKS[self.easiest] > RANKS[proof] else None


NO_PROOF: Final = Grade(Proof.NONE, Proof.NONE)
BY_DIRECTORY: Final = Grade(Proof.DIRECTORY, Proof.DIRECTORY)
ANY_PROOF: Final = Grade(Proof.NONE, Proof.STRONG)


class Place(StrEnum):
    """From where a way is open."""

    NETWORK = "network"
    PRESENCE = "physical presence"
    RADIO = "within radio range"
    OUTBOUND = "through a service that the card calls"


class Origin(NamedTuple):
    """From where a way is open; for the network, from which addresses.

    ``prefixes`` are those of every filter in the way, intersected and sorted; empty where any
    address is let in, None where some filter is not captured. ``ipv4_addresses`` and
    ``ipv6_addresses`` count what they let in; None likewise. ``is_globally_routable`` tells
    whether addresses of the public internet are let in to a card that has such an address.
    """

    place: Place
    any_address: Truth3 = False
    prefixes: tuple[str, ...] | None = ()
    ipv4_addresses: int | None = 0
    ipv6_addresses: int | None = 0
    is_globally_routable: Truth3 = False


class Way(NamedTuple):
    """One way in that is open, or may be.

    ``party`` says in words who holds the proof, and never the proof. ``pointer`` is the setting
    that opens the way; ``settings`` are all that make it what it is, that one first, but for
    ``filters``, those that say from where it is open.
    ``proof_at`` is the setting that says how good the proof is.
    ``role`` is that of an account, else empty. ``is_open`` is True or None. ``switches`` tells
    whether outputs can be switched at once, without a change of settings first. ``condition``
    says, in words, what must be the case besides; empty for nothing. ``confirmation`` tells
    whether switching asks a second time.
    """

    channel: Channel
    party: str
    pointer: str
    settings: tuple[str, ...]
    is_open: Truth3
    reads: Truth3
    configures: Truth3
    switches: Truth3
    grade: Grade
    proof_at: str
    in_clear: Truth3
    origin: Origin
    filters: tuple[str, ...] = ()
    role: str = ""
    condition: str = ""
    confirmation: Truth3 = False

    @property
    def proof(self) -> Proof:
        """Return the proof that the way asks for."""
        return self.grade.proof


def is_exposed(origin: Origin, in_clear: Truth3) -> bool:
    """Return whether a way may be heard from anywhere, or may be open to the public internet."""
    heard = in_clear is not False and origin.any_address is not False
    return heard or origin.is_globally_routable is not False


def is_easier(one: Way, other: Way) -> bool:
    """Return whether a way is surely as easy as another in every respect, and easier in one.

    Respects: the proof, clear text, from where, what it allows, what must be the case besides.
    What is not known is never sure, so more knowledge makes no easier way less easy.
    """
    if one.is_open is not True:
        return False
    is_less = False
    for at_most, less in _comparisons(one, other):
        if not at_most:
            return False
        is_less = is_less or less
    return is_less


_Compared: TypeAlias = tuple[bool, bool]
"""Whether one is surely as easy as the other, and whether it is surely easier."""


def _comparisons(one: Way, other: Way) -> Iterator[_Compared]:
    """Yield one respect after the other, those first that are soon told and often differ."""
    yield _by_truth(one.switches, other.switches)
    yield _by_truth(one.in_clear, other.in_clear)
    yield _by_truth(one.configures, other.configures)
    yield _by_proof(one, other)
    yield _by_origin(one.origin, other.origin)
    yield _by_truth(one.reads, other.reads)
    yield _by_truth(not one.condition, not other.condition)


def _by_proof(one: Way, other: Way) -> _Compared:
    if one.grade == other.grade and (one.proof is not Proof.UNKNOWN or one.proof_at == other.proof_at):
        return True, False
    if one.grade.hardest is Proof.NONE:
        return True, other.grade.easiest is not Proof.NONE
    if Proof.DIRECTORY in (*one.grade, *other.grade):
        return False, False
    hardest, easiest = RANKS[one.grade.hardest], RANKS[other.grade.easiest]
    return hardest <= easiest, hardest < easiest


def _by_truth(one: Truth3, other: Truth3) -> _Compared:
    """Compare where true is the easier: more is allowed, or more can be heard."""
    return one is True or other is False, one is True and other is False


def _by_origin(one: Origin, other: Origin) -> _Compared:
    if one == other and one.prefixes is not None:
        return True, False
    if one.place is not other.place or one.place is not Place.NETWORK:
        return one.place is other.place, False
    if one.any_address:
        return True, other.any_address is False
    if other.any_address or not one.prefixes or not other.prefixes:
        return False, False
    return intersection(one.prefixes, other.prefixes) == other.prefixes, False
