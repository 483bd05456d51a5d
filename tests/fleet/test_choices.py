"""Names and files that a user chose, and what is told of those that can't be used."""

from pathlib import Path

import pytest

from auditor.errors import RulesetError
from auditor.fleet.choices import (
    check_rules_file,
    load_crosswalks,
    load_map_file,
    load_program,
    load_rulesets,
)
from auditor.rules.shipped import CROSSWALKS
from tests.rules.matrix import ROOT

OWN = """\
[ruleset]
name = "own"
title = "Own rules"
version = "1"

[parameters.own_limit_s]
value = 60
unit = "s"
meaning = "A limit."
source = "the site"

[[rule]]
id = "own-rule"
title = "A rule of the site"
family = "own"
require = { at = "/access_policy/session_timeout_s", at_most = { parameter = "session_timeout_maximum_s" } }
severity = { vector = "AV:N/AC:L/Au:N/C:P/I:P/A:P", because = "b" }
why = "w"
mend = { text = "m" }
verify = "v"
sources = ["the site"]
"""
SITE = """\
[site]
rulesets = ["baseline", "own.toml"]

[parameters]
session_timeout_maximum_s = 300

[deselect]
telnet-enabled = "It is filtered."
"""


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """Return a site's file beside a ruleset of its own."""
    (tmp_path / "own.toml").write_text(OWN)
    path = tmp_path / "witnessmark.toml"
    path.write_text(SITE)
    return path


def names(rulesets: object) -> list[str]:
    """Return the names of rulesets."""
    return [each.name for each in rulesets]  # type: ignore[attr-defined]


def test_without_a_choice_the_shipped_rulesets_judge() -> None:
    """Both of them, with their own numbers, and nothing set aside."""
    program = load_program()
    assert names(program.rulesets) == ["baseline", "readiness"]
    assert not program.tailoring.file


def test_the_rulesets_of_a_site_lie_beside_its_file(site: Path) -> None:
    """Names of shipped rulesets and paths relative to the site's file, in its order."""
    program = load_program(site=str(site))
    assert names(program.rulesets) == ["baseline", "own"]
    assert program.parameters["session_timeout_maximum_s"].value == 300
    assert program.tailoring.deselected == {"telnet-enabled": "It is filtered."}


def test_rulesets_of_the_call_come_before_those_of_the_site(site: Path) -> None:
    """The site's parameters still hold."""
    program = load_program(("baseline",), str(site))
    assert names(program.rulesets) == ["baseline"]
    assert program.parameters["session_timeout_maximum_s"].value == 300


def test_later_rulesets_may_name_parameters_of_earlier_ones(site: Path) -> None:
    """In this order only: a file alone does not know them."""
    assert names(load_rulesets(("baseline", str(site.parent / "own.toml")))) == ["baseline", "own"]
    with pytest.raises(RulesetError, match="no parameter session_timeout_maximum_s"):
        load_rulesets((str(site.parent / "own.toml"),))


def test_an_unknown_ruleset_is_told_with_those_that_there_are() -> None:
    """A slip of the pen gets the right name."""
    with pytest.raises(RulesetError) as caught:
        load_rulesets(("basline",))
    (fault,) = caught.value.faults
    assert fault.problem == "no ruleset of that name is shipped"
    assert "baseline" in fault.remedy


@pytest.mark.parametrize("name", ["missing.toml", "no/such/rules"])
def test_a_file_that_is_not_there_is_told_with_its_path(name: str, tmp_path: Path) -> None:
    """The system's reason, in plain words, and what to check."""
    with pytest.raises(RulesetError) as caught:
        load_rulesets((str(tmp_path / name),))
    (fault,) = caught.value.faults
    assert fault.file == str(tmp_path / name)
    assert fault.problem == "can't be read: no such file or directory"


def test_faults_of_a_site_file_and_of_what_it_names_are_told_at_once(site: Path) -> None:
    """A wrong threshold, a ruleset that is not there and an empty list of words."""
    (site.parent / "words.txt").write_text("")
    site.write_text(
        SITE.replace("[site]", '[site]\nword_list = "words.txt"').replace('"It is filtered."', "5")
    )
    problems = _problems(site)
    assert problems == [("witnessmark.toml", "/deselect/telnet-enabled"), ("words.txt", "")]
    site.write_text(site.read_text().replace("own.toml", "gone.toml").replace("session_timeout", "nowhere"))
    assert _problems(site) == [*problems, ("gone.toml", "")]


def _problems(site: Path) -> list[tuple[str, str]]:
    with pytest.raises(RulesetError) as caught:
        load_program((), str(site))
    return [(Path(fault.file).name, fault.pointer) for fault in caught.value.faults]


def test_a_ruleset_is_checked_and_counted(site: Path) -> None:
    """It may name parameters of the shipped rulesets, as it may in an audit."""
    path = str(site.parent / "own.toml")
    assert check_rules_file(path) == f"{path}: good. 1 rule, 1 parameter."


def test_a_site_file_is_checked_and_counted(site: Path) -> None:
    """What it changes is said."""
    assert check_rules_file(str(site)) == f"{site}: good. 0 own rules, 1 parameter changed, 1 rule set aside."


def test_a_ruleset_that_repeats_a_shipped_rule_is_refused(site: Path) -> None:
    """Checked alone it would be good; beside the shipped ones it is not."""
    path = site.parent / "own.toml"
    path.write_text(OWN.replace("own-rule", "telnet-enabled"))
    with pytest.raises(RulesetError, match="rule telnet-enabled stands in"):
        check_rules_file(str(path))


def test_every_shipped_crosswalk_is_loaded() -> None:
    """In the order of their names."""
    assert names(load_crosswalks()) == list(CROSSWALKS)


def test_a_map_is_read_from_its_file() -> None:
    """A map that the fixtures hold."""
    path = str(ROOT / "fixtures/imports/maps/card-family-a.toml")
    assert load_map_file(path).file == path
