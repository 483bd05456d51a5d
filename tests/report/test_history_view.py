"""A history in words: what every report says in the same way."""

from auditor.report.history_view import series_name
from tests.history.by_hand import result, sweep_on, told


def test_a_series_is_named_by_its_part_and_by_its_store_only_where_it_must_be() -> None:
    """Merged from three stores: two swept a part of one name, one named none."""
    first, second, third = ("1" * 32, "2" * 32, "3" * 32)
    sweeps = (
        sweep_on(0, origin=first, part="north"),
        sweep_on(1, origin=second, part="north"),
        sweep_on(2, origin=second, part="south"),
        sweep_on(3, origin=third),
    )
    history = told(*((sweep, [result(sweep.id)]) for sweep in sweeps))
    names = [series_name(sweep, history) for sweep in sweeps]
    assert names == ["north, store 11111111", "north, store 22222222", "south", "store 33333333"]
    alone = told((sweeps[3], [result("x")]))
    assert series_name(sweeps[3], alone) == "estate"
