"""Ways in past the card's own wireless network: those over the network, from radio range. Holds no facts."""

from collections.abc import Iterable, Iterator
from typing import Final

from auditor.facts.fact import Context, Settings
from auditor.facts.reach.grade import both_of, wifi_grade
from auditor.facts.reach.origin import BY_RADIO
from auditor.facts.reach.way import ANY_PROOF, NO_PROOF, Channel, Grade, Place, Way
from auditor.facts.three_valued import all_of

_EMPTY: Settings = {}
_WIFI: Final = "/services/wifi"


def radio_ways(over_network: Iterable[Way], record: Settings, context: Context) -> Iterator[Way]:
    """Yield each sure way over the network once more, for whoever joins the wireless network first.

    Both proofs are asked for. What address a caller then has the record doesn't tell, so a way
    with a filter may be closed to them. One way stands for all that may be open or not.
    """
    wifi = record.get("services", _EMPTY).get("wifi", _EMPTY)
    if wifi.get("enabled") is False:
        return
    behind = [way for way in over_network if way.origin.place is Place.NETWORK]
    if "enabled" not in wifi or any(way.is_open is None for way in behind):
        yield _NOT_CAPTURED
    if "enabled" in wifi:
        grade = wifi_grade(wifi, record, context)
        yield from (_past_radio(way, grade) for way in behind if way.is_open)


def _past_radio(way: Way, joining: Grade) -> Way:
    is_let_in = way.origin.any_address or None
    return way._replace(
        channel=Channel.WIFI,
        party=f"{way.party} over {way.channel}",
        pointer=f"{_WIFI}/enabled",
        settings=(f"{_WIFI}/enabled", f"{_WIFI}/security", f"{_WIFI}/passphrase", *way.settings),
        is_open=all_of(way.is_open, is_let_in),
        grade=both_of(joining, way.grade),
        in_clear=all_of(way.in_clear, _is_heard(joining)),
        origin=BY_RADIO,
    )


def _is_heard(joining: Grade) -> bool | None:
    """Return whether everybody in range can hear what is sent: where joining takes no proof."""
    return joining.is_at_most(NO_PROOF.proof)


_NOT_CAPTURED: Final = Way(
    channel=Channel.WIFI,
    party="whoever joins the wireless network",
    pointer=f"{_WIFI}/enabled",
    settings=(f"{_WIFI}/enabled",),
    is_open=None,
    reads=None,
    configures=None,
    switches=None,
    grade=ANY_PROOF,
    proof_at=f"{_WIFI}/security",
    in_clear=None,
    origin=BY_RADIO,
)
