"""What every plan promises, held against what comes of doing its steps one at a time."""

from collections.abc import Iterator
from dataclasses import replace

import orjson

from auditor.errors import RecordError
from auditor.facts.reach.way import Way
from auditor.facts.reach.ways import administrator_ways
from auditor.facts.sealing import KEY_OCTETS, seal
from auditor.procedure.edit import edited
from auditor.procedure.plan import Asked, CardPlan
from auditor.procedure.step import key_of
from auditor.procedure.timetable import restarts_of
from auditor.procedure.way_in import keeps_a_way, ways_in
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
    settings, ways = found.record.settings, ways_in(CONTEXT, found.bench.own_address)
    open_now, local_now = ways(settings), local_ways(settings)
    for step in (step for block in found.blocks for step in block.steps):
        settings = edited(settings, found.done[step.id].edits)
        open_then, local_then = ways(settings), local_ways(settings)
        closes = (open_now and not keeps_a_way(open_now, open_then)) or (local_now and not local_then)
        yield f"{step.id} closes the last way in" if closes else "", settings
        open_now, local_now = open_then, local_then


def local_ways(settings: Settings) -> list[Way]:
    """Return the ways for people that need no directory, straight from reach."""
    return [
        way
        for way in administrator_ways(settings, CONTEXT)
        if way.channel in _FOR_PEOPLE and way.party.startswith(("account ", "holder of the console"))
    ]


def _faults_of_outcome(found: CardPlan, settings: Settings) -> Iterator[str]:
    left = {key_of(finding) for finding in found.after.findings}
    if settings != found.after_settings:
        yield "the steps do not lead to the after-image"
    if left & found.mended:
        yield f"promised and not mended: {left & found.mended}"
    if left - {key_of(finding) for finding in found.before.findings}:
        yield f"new: {left - {key_of(finding) for finding in found.before.findings}}"
    if found.graph.steps and not _is_record(found.after_settings):
        yield "the after-image is no record"


def _is_record(settings: Settings) -> bool:
    """Return whether settings, sealed as they are written, keep the schema of a record."""
    try:
        read_record(orjson.dumps(seal(settings, bytes(KEY_OCTETS), CONTEXT)), "after.json")
    except RecordError:
        return False
    return True
