"""Facts on reach: ways to switch outputs or change settings that are too easy.

All rest on one reading of the record, ``risky_ways``. Each names the ways it speaks of; where
none is sure but some may be, it is unknown. Ways at the card itself are judged by rules of
their own, and left out.
"""

from collections.abc import Callable
from typing import Final, TypeAlias

from auditor.facts.fact import Context, Fact, Settings, fact
from auditor.facts.network import global_address_places
from auditor.facts.reach.grade import wifi_grade
from auditor.facts.reach.way import Channel, Place, Proof, Truth3, Way
from auditor.facts.reach.ways import risky_ways, ways
from auditor.facts.three_valued import all_of, opposite
from auditor.record.pointer import split, value_at

_Picks: TypeAlias = Callable[[Way], Truth3]
"""Says whether a fact speaks of a way."""

_Places: TypeAlias = Callable[[Way, Settings], tuple[str, ...]]

_NOTHING: Final[tuple[object, ...]] = (None, [], "")
"""What is not there makes no way."""

_READS: Final = ("/shutdown/remote_output_commands/enabled", "/services", "/snmp", "/accounts", "/directory")
_LOGIN_FILES: Final = frozenset({Channel.FTP, Channel.SFTP, Channel.SCP})
_EMPTY: Settings = {}


def _fact_on_ways(source: str, *more: _Places) -> Callable[[_Picks], Fact]:
    """Make a fact of a question about one way: it names all ways of which the answer is yes.

    ``more`` gives settings that count among what makes the answer, beside those of the way.
    """

    def made(picks: _Picks) -> Fact:
        def compute(found: tuple[Way, ...]) -> tuple[str, ...] | None:
            answers = [picks(way) for way in found]
            if True not in answers:
                return None if None in answers else ()
            picked = (way for way, answer in zip(found, answers, strict=True) if answer)
            return tuple(dict.fromkeys(f"{way.party} over {way.channel}" for way in picked))

        def places(found: tuple[Way, ...], record: Settings) -> tuple[str, ...]:
            way, is_sure = _deciding(found, picks)
            if way is None:
                return ()
            settings = (*way.settings, *(place for give in more for place in give(way, record)))
            if is_sure:
                return tuple(place for place in settings if _value(place, record) not in _NOTHING)
            return tuple(place for place in settings if _value(place, record) is None) or (way.pointer,)

        summary = (picks.__doc__ or "").split("\n")[0]
        name = picks.__name__
        return Fact(name, summary, "", "", _READS, source, compute, basis=risky_ways, places=places)

    return made


def _deciding(found: tuple[Way, ...], picks: _Picks) -> tuple[Way | None, bool]:
    """Return the easiest way of which the answer is yes, else the first that leaves it open, if any."""
    if sure := [way for way in found if picks(way)]:
        return min(sure, key=_effort), True
    return next((way for way in found if picks(way) is None), None), False


def _filters(way: Way, _record: Settings) -> tuple[str, ...]:
    return way.filters


def _addresses(_way: Way, record: Settings) -> tuple[str, ...]:
    return global_address_places(record)


def _effort(way: Way) -> tuple[bool, bool, bool, int]:
    """Return what orders ways of one proof: a condition, the wire, from where; the easiest first."""
    origin = way.origin
    addresses = (origin.ipv4_addresses or 0) + (origin.ipv6_addresses or 0)
    return bool(way.condition), way.in_clear is not True, origin.any_address is not True, -addresses


def _value(pointer: str, record: Settings) -> object:
    return value_at(record, split(pointer))


def _is_over_network(way: Way) -> bool:
    return way.origin.place is Place.NETWORK


def _switches(way: Way) -> Truth3:
    return all_of(_is_over_network(way), way.is_open, way.switches)


def _configures_only(way: Way) -> Truth3:
    """Return whether a way over the network changes settings but no output; files behind a login aside.

    Whoever may load files by name may log in by the same name elsewhere: that way is judged.
    """
    if way.channel in _LOGIN_FILES:
        return False
    return all_of(_is_over_network(way), way.is_open, way.configures, opposite(way.switches))


def _asks_nothing(way: Way) -> Truth3:
    return way.grade.is_at_most(Proof.NONE)


def _asks_what_is_known(way: Way) -> Truth3:
    return all_of(opposite(_asks_nothing(way)), way.grade.is_at_most(Proof.FACTORY))


@_fact_on_ways("NIST SP 800-53r5 AC-3, IA-2, IA-3")
def switching_without_proof(way: Way) -> Truth3:
    """Name the ways over the network by which anybody may switch outputs, without any proof."""
    return all_of(_switches(way), _asks_nothing(way))


@_fact_on_ways("NIST SP 800-63B (revision 3) section 5.1.1.2")
def switching_by_known_proof(way: Way) -> Truth3:
    """Name the ways over the network to switch outputs by a well-known or delivered secret."""
    return all_of(_switches(way), _asks_what_is_known(way))


@_fact_on_ways("NIST SP 800-63B (revision 3) section 5.1.1")
def switching_by_weak_proof(way: Way) -> Truth3:
    """Name the ways over the network to switch outputs by a secret that is short or cheaply made."""
    grade = way.grade
    is_weak = all_of(opposite(grade.is_at_most(Proof.FACTORY)), grade.is_at_most(Proof.WEAK))
    return all_of(_switches(way), is_weak)


@_fact_on_ways("NIST SP 800-53r5 SC-7(5), SC-8", _filters)
def switching_heard_from_anywhere(way: Way) -> Truth3:
    """Name the ways, open to any address, to switch outputs by a proof that crosses the wire in clear.

    Version 3 of SNMP sends no key; where no proof is asked for there is none to hear.
    """
    sends_proof = way.channel is not Channel.SNMP_V3
    heard = all_of(sends_proof, opposite(_asks_nothing(way)), way.in_clear, way.origin.any_address)
    return all_of(_switches(way), heard)


@_fact_on_ways("RFC 6890 section 2.2; NIST SP 800-53r5 SC-7", _filters, _addresses)
def switching_from_the_internet(way: Way) -> Truth3:
    """Name the ways to switch outputs that addresses of the public internet are let in to."""
    return all_of(_switches(way), way.origin.is_globally_routable)


@_fact_on_ways("NIST SP 800-53r5 AC-17, AC-20")
def switching_from_outside(way: Way) -> Truth3:
    """Name the services outside, called by the card, through which outputs may be switched."""
    return all_of(way.origin.place is Place.OUTBOUND, way.is_open, way.switches)


@_fact_on_ways("NIST SP 800-53r5 AC-3, CM-5")
def configuring_without_proof(way: Way) -> Truth3:
    """Name the ways over the network by which anybody may change settings, though not switch."""
    return all_of(_configures_only(way), _asks_nothing(way))


@_fact_on_ways("NIST SP 800-63B (revision 3) section 5.1.1.2; NIST SP 800-53r5 CM-5")
def configuring_by_known_proof(way: Way) -> Truth3:
    """Name the ways over the network to change settings, though not to switch, by a known secret."""
    return all_of(_configures_only(way), _asks_what_is_known(way))


@fact(
    reads=["/services/wifi/enabled", "/services/wifi/security", "/services/wifi/passphrase", *_READS],
    source="NIST SP 800-53r5 AC-18; common practice, no source",
)
def switching_behind_open_radio(record: Settings, context: Context) -> tuple[str, ...] | None:
    """Name the ways to switch outputs that whoever joins the card's weak wireless network may use."""
    wifi = record.get("services", _EMPTY).get("wifi", _EMPTY)
    if wifi.get("enabled") is False:
        return ()
    joins = all_of(wifi.get("enabled"), wifi_grade(wifi, record, context).is_at_most(Proof.WEAK))
    if joins is False:
        return ()
    found = ways(record, context)
    answers = [all_of(joins, _switches(way), way.origin.any_address) for way in found]
    if True not in answers:
        return None if None in answers else ()
    picked = (way for way, answer in zip(found, answers, strict=True) if answer)
    return tuple(dict.fromkeys(f"{way.party} over {way.channel}" for way in picked))
