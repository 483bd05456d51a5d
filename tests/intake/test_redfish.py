"""Redfish captures as a whole: which resources count, which managers are cards, and any JSON at all."""

import copy
import json
from pathlib import Path
from typing import Any

import orjson
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from auditor.errors import InputError
from auditor.intake.redfish import looks_like_redfish, read_redfish
from tests.intake.redfish_service import (
    ACCOUNTS,
    FIXTURES,
    MANAGER,
    SERVICE,
    account,
    flat,
    imported,
    protocols,
    record_of,
    resource,
    written,
)


def test_a_resource_expanded_inside_another_counts(tmp_path: Path) -> None:
    """One reply may hold its members in full; they have their place in it.

    Source: DSP0266, the $expand query parameter.
    """
    listing = resource(f"{ACCOUNTS}/Accounts", "ManagerAccountCollection", Members=[account(1, UserName="m")])
    card = imported(tmp_path, listing)
    assert flat(card) == {"/accounts/0/name": "m"}
    assert card.origins["/accounts/0/name"].at == "/Members/0/UserName"
    assert card.origins["/accounts/0/name"].line > 1


def test_a_copy_inside_another_reply_yields_to_the_resource_itself(tmp_path: Path) -> None:
    """The reply that is the resource counts, whatever an older copy of it says."""
    listing = resource(
        f"{ACCOUNTS}/Accounts", "ManagerAccountCollection", Members=[account(1, UserName="old")]
    )
    card = imported(tmp_path, listing, account(1, UserName="new"))
    assert flat(card) == {"/accounts/0/name": "new"}
    assert card.lost == ()


def test_two_copies_that_differ_are_told(tmp_path: Path) -> None:
    """Nothing decides between two copies inside other replies: the second is lost, not mixed in."""
    copies = [
        resource(f"{SERVICE}/{n}", "ManagerAccountCollection", Members=[account(1, UserName=n)]) for n in "ab"
    ]
    card = imported(tmp_path, *copies)
    assert flat(card) == {"/accounts/0/name": "a"}
    assert [lost.why.partition(";")[0] for lost in card.lost] == ["told twice, not alike"]


def test_several_managers_are_several_cards(tmp_path: Path) -> None:
    """Each manager with a network protocol is a card; the accounts of the service belong to each."""
    cards = read_redfish(
        str(
            written(
                tmp_path,
                *(
                    resource(
                        f"{SERVICE}/Managers/{name}/NetworkProtocol", "ManagerNetworkProtocol", HostName=host
                    )
                    for name, host in (("m10", "a"), ("m2", "same"), ("m3", "same"))
                ),
                resource(f"{SERVICE}/Managers/inner", "Manager", FirmwareVersion="1"),
                account(1, UserName="m"),
            )
        )
    )
    assert [card.card_id for card in cards] == ["same:m2", "same:m3", "a"]
    assert [flat(card)["/accounts/0/name"] for card in cards] == ["m", "m", "m"]


def test_a_capture_without_a_network_protocol_is_its_manager(tmp_path: Path) -> None:
    """What little there is makes a card, called after the folder."""
    card = imported(tmp_path, resource(MANAGER, "Manager", FirmwareVersion="7.1"))
    assert (card.card_id, flat(card)) == ("capture", {"/card/firmware_version": "7.1"})


def test_a_host_name_that_is_no_id_is_made_one(tmp_path: Path) -> None:
    """The id of a card has its own alphabet."""
    assert imported(tmp_path, protocols(HostName="Ups 7/Öst")).card_id == "Ups-7--st"


def test_recognition_asks_for_a_redfish_type(tmp_path: Path) -> None:
    """A folder of records, a text, or nothing is no capture; one resource in a folder makes one."""
    assert looks_like_redfish(str(written(tmp_path, resource(MANAGER, "Manager"))))
    assert not looks_like_redfish(str(FIXTURES.parents[1] / "cards"))
    assert not looks_like_redfish(str(FIXTURES / "ledger.toml"))
    assert not looks_like_redfish(str(tmp_path / "missing"))


def test_a_folder_without_a_resource_is_refused_with_what_to_do(tmp_path: Path) -> None:
    """JSON that is no Redfish is no capture."""
    with pytest.raises(InputError, match="no Redfish resource"):
        read_redfish(str(written(tmp_path, {"a": 1})))


_ODD: st.SearchStrategy[Any] = st.sampled_from(
    [None, True, False, -1, 0, 10**30, 1.5, "", "x", " ", "a@b", "::", "\0", [], {}, [None], [[]], {"": 0}]
)


def _places(node: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the paths of everything in a resource, but for its name and type."""
    inner = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [
        path
        for key, child in inner
        if not (at == () and str(key).startswith("@"))
        for path in [(*at, key), *_places(child, (*at, key))]
    ]


def _change(node: Any, place: tuple[Any, ...], odd: Any) -> None:
    """Put an odd value at a place, if an earlier change has left that place there."""
    for key in place[:-1]:
        node = node[key] if _holds(node, key) else None
    if _holds(node, place[-1]):
        node[place[-1]] = odd


def _holds(node: Any, key: Any) -> bool:
    if isinstance(node, list):
        return isinstance(key, int) and key < len(node)
    return isinstance(node, dict) and key in node


_FILES = {path: orjson.loads(path.read_bytes()) for path in sorted((FIXTURES / "invented").rglob("*.json"))}


_SPOTS = [(path, place) for path, body in _FILES.items() for place in _places(body)]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=60)
@given(st.lists(st.tuples(st.sampled_from(_SPOTS), _ODD), min_size=1, max_size=40))
def test_any_json_in_any_place_is_a_valid_record_or_a_loss(
    tmp_path: Path, changes: list[tuple[tuple[Path, tuple[Any, ...]], Any]]
) -> None:
    """Whatever a service returns in the place of anything, the record is valid, and no run breaks."""
    bodies = copy.deepcopy(_FILES)
    for (path, place), odd in changes:
        _change(bodies[path], place, odd)
    target = tmp_path / "capture"
    target.mkdir(exist_ok=True)
    for number, body in enumerate(bodies.values()):
        (target / f"{number}.json").write_text(json.dumps(body), encoding="utf-8")
    for card in read_redfish(str(target)):
        record_of(card)
