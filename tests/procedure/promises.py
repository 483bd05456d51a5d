"""What every plan promises, held against what comes of doing its steps one at a time."""

from collections.abc import Iterator
from dataclasses import replace
from ipaddress import ip_address, ip_network

import orjson

from auditor.errors import RecordError
from auditor.facts.reach.way import Origin, Place, Way
from auditor.facts.reach.ways import administrator_ways
from auditor.facts.sealing import KEY_OCTETS, seal
from auditor.procedure.edit import edited
from auditor.procedure.plan import Asked, CardPlan
from auditor.procedure.step import key_of
from auditor.procedure.timetable import restarts_of
from auditor.record.reading import read_record
from auditor.record.settings import Settings
from tests.procedure.exhaustive import fewest_restarts, only_restarts
from tests.procedure.sample import CONTEXT, plan

_FOR_PEOPLE = {"https", "ssh", "serial_console", "http", "telnet"}


def faults(found: CardPlan) -> Iterator[str]:
    """Yield what a plan promises and does not keep."""
    yield from _faults_of_order(found)
    yield from _faults_of_blocks(found)
    settings = found.record.settings
    for fault, after in _replayed(found):
        settings = after
        if fault:
            yield fault
    yield from _faults_of_outcome(found, settings)


def once_more(found: CardPlan, asked: Asked) -> CardPlan:
    """Return the plan of the after-image."""
    return plan(replace(found.record, settings=found.after_settings), asked, found.before.program)


def _faults_of_order(found: CardPlan) -> Iterator[str]:
    done = set[str]()
    for step in (step for block in found.blocks for step in block.steps):
        if found.graph.before[step.id] - done:
            yield f"{step.id} is done before {found.graph.before[step.id] - done}"
        if not found.done[step.id].edits:
            yield f"{step.id} changes nothing"
        done.add(step.id)
    if done != set(found.graph.steps):
        yield "not every step is done"


def _faults_of_blocks(found: CardPlan) -> Iterator[str]:
    for block in found.blocks:
        if block.kind == "output" and len(block.steps) != 1:
            yield f"{block.steps} are not set apart"
        if block.kind != "output" and any(step.visit.output_risk for step in block.steps):
            yield f"what touches the output stands in a {block.kind}"
    if restarts_of(found.blocks) != fewest_restarts(only_restarts(found.graph)):
        yield "another order has fewer restarts"


def _replayed(found: CardPlan) -> Iterator[tuple[str, Settings]]:
    """Yield the settings after each step, with what is wrong then."""
    settings, address = found.record.settings, found.bench.own_address
    open_now = ways_by_reach(settings, address) if found.blocks else []
    for step in (step for block in found.blocks for step in block.steps):
        settings = edited(settings, found.done[step.id].edits)
        open_then = ways_by_reach(settings, address)
        fault = "" if leaves_a_way(open_now, open_then) else f"{step.id} closes the last way in"
        yield fault, settings
        open_now = open_then


def ways_by_reach(settings: Settings, address: str) -> list[Way]:
    """Return the ways for people that are open to an administrator from an address, straight from reach."""
    return [
        way
        for way in administrator_ways(settings, CONTEXT)
        if way.channel in _FOR_PEOPLE and _lets_in(way.origin, address)
    ]


def leaves_a_way(before: list[Way], after: list[Way]) -> bool:
    """Return whether one is left where there was one, with a directory that answers and without one."""
    return all(
        any(map(works, after)) or not any(map(works, before)) for works in (_is_local, _is_unconditional)
    )


def _is_unconditional(way: Way) -> bool:
    return not way.condition


def _is_local(way: Way) -> bool:
    return way.party.startswith(("account ", "holder of the console"))


def _lets_in(origin: Origin, address: str) -> bool:
    if not address or origin.place is not Place.NETWORK or origin.any_address:
        return True
    return any(ip_address(address) in ip_network(prefix) for prefix in origin.prefixes or ())


def _faults_of_outcome(found: CardPlan, settings: Settings) -> Iterator[str]:
    left = {key_of(finding) for finding in found.after.findings}
    if settings != found.after_settings:
        yield "the steps do not lead to the after-image"
    if left & found.mended:
        yield f"promised and not mended: {left & found.mended}"
    if left - {key_of(finding) for finding in found.before.findings}:
        yield f"new: {left - {key_of(finding) for finding in found.before.findings}}"


def has_record_after(found: CardPlan) -> bool:
    """Return whether the after-image, sealed as it is written, keeps the schema of a record."""
    try:
        read_record(orjson.dumps(seal(found.after_settings, bytes(KEY_OCTETS), CONTEXT)), "after.json")
    except RecordError:
        return False
    return True
