"""Parameters named in texts: found, checked, and filled with the values in force."""

from hypothesis import given
from hypothesis import strategies as st

from auditor.rules.fault import Faults
from auditor.rules.placeholder import (
    check_placeholders,
    filled,
    parameter_text,
    placeholders,
    with_texts_filled,
)
from auditor.rules.rule import Mend, Parameter
from tests.rules.matrix import program
from tests.rules.small import PARAMETERS, rule


def test_a_value_is_filled_in_with_its_unit() -> None:
    """The reader sees the number that decides at this site, not the one that the author had in mind."""
    text = filled("Set a timeout of {limit_s} or less, {limit_s} at most.", PARAMETERS)
    assert text == "Set a timeout of 900 s or less, 900 s at most."


def test_values_are_worded_as_people_write_them() -> None:
    """A list by commas, a truth as JSON has it, nothing behind a value without a unit."""
    assert parameter_text(Parameter("a", ["x", "y"], "", "m", "s")) == "x, y"
    assert parameter_text(Parameter("a", value=False, unit="", meaning="m", source="s")) == "false"


@given(st.text().filter(lambda text: not list(placeholders(text))))
def test_a_text_without_parameters_stays_as_it_is(text: str) -> None:
    """Braces that hold no name of a parameter are just braces."""
    assert filled(text, {}) == text


def test_an_unknown_name_is_the_authors_fault_and_told_where_it_stands() -> None:
    """One fault for each text that names what is not there, with the nearest name."""
    faults = Faults()
    check_placeholders({("why",): "{limit_s} {limit_z}", ("title",): "fine"}, PARAMETERS, faults)
    (fault,) = faults.found
    assert (fault.path, fault.problem) == (("why",), "no parameter limit_z")
    assert "limit_s" in fault.remedy


def test_every_text_of_a_rule_is_filled() -> None:
    """Title, reason, mend and proof may all name a number."""
    plain = rule(title="a {limit_s}", why="b {limit_s}", verify="d {limit_s}", mend=Mend("c {limit_s}"))
    known = with_texts_filled(plain, PARAMETERS)
    texts = (known.title, known.why, known.mend.text, known.verify)
    assert texts == ("a 900 s", "b 900 s", "c 900 s", "d 900 s")


def test_a_rule_without_parameters_in_its_texts_is_the_same_rule() -> None:
    """Nothing is copied for nothing: most rules name none."""
    plain = rule()
    assert with_texts_filled(plain, PARAMETERS) is plain


def test_shipped_texts_say_what_the_site_asks_for() -> None:
    """A tailored number stands in the mend, and no placeholder is left in any text."""
    rules = {each.id: each for each in program({"session_timeout_maximum_s": 300}).rules}
    assert "of 300 s or less" in rules["session-timeout-long"].mend.text
    texts = [text for r in rules.values() for text in (r.title, r.why, r.mend.text, r.verify)]
    assert [text for text in texts if list(placeholders(text))] == []
