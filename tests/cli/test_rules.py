"""``witnessmark rules``: the list, one rule explained, a file checked."""

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from typer.testing import CliRunner, Result

from auditor.cli.main import app
from auditor.fleet.choices import load_crosswalks, load_program
from auditor.report.rule_text import rule_text
from auditor.report.writer import Look
from tests.rules.matrix import ROOT


def run(*arguments: str) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, ["rules", *arguments])


@cache
def explained() -> Mapping[str, str]:
    """Return what ``show`` prints of each shipped rule; the files of rules are read once."""
    program, crosswalks = load_program(), load_crosswalks()
    return {rule.id: rule_text(rule, program, crosswalks, Look()) for rule in program.rules}


def test_show_prints_the_explanation() -> None:
    """What the tests below read is what the command prints."""
    assert run("show", "telnet-enabled").stdout == f"{explained()['telnet-enabled']}\n"


def test_the_list_names_every_rule_within_80_columns() -> None:
    """Every shipped rule is listed, and no line is wider than the terminal."""
    result = run()
    assert result.exit_code == 0
    assert all(rule.id in result.stdout for rule in load_program().rules)
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_every_rule_can_be_explained() -> None:
    """Show gives why, mend, verify, severity worked out, controls and sources for each rule."""
    titles = (
        "Why it matters",
        "Requires",
        "How to mend it",
        "How to verify it",
        "Severity",
        "Controls",
        "Sources",
    )
    for rule_id, text in explained().items():
        assert [title for title in titles if title not in text] == [], rule_id
        assert max(map(len, text.splitlines())) <= 80, rule_id


def test_an_unknown_rule_names_the_nearest() -> None:
    """A misspelt id is answered with the nearest one."""
    result = run("show", "telnet-enabld")
    assert result.exit_code == 2
    assert "Did you mean telnet-enabled?" in result.stderr


def test_a_good_file_is_said_to_be_good(tmp_path: Path) -> None:
    """A site's file without faults: exit code 0 and what it holds."""
    path = tmp_path / "witnessmark.toml"
    path.write_text('[site]\noperator = "Example"\n', "utf-8")
    assert run("check", str(path)).exit_code == 0


def test_what_a_file_holds_is_counted_in_words(tmp_path: Path) -> None:
    """One is one rule, none and several are rules."""
    path = tmp_path / "witnessmark.toml"
    path.write_text('[site]\noperator = "Example"\n[deselect]\ntelnet-enabled = "an example"\n', "utf-8")
    result = run("check", str(path))
    assert result.stderr.endswith("good. 0 own rules, 0 parameters changed, 1 rule set aside.\n")


def test_a_faulty_file_is_told_with_line_and_remedy(tmp_path: Path) -> None:
    """Every fault gives file, line, pointer and what to do; exit code 2."""
    path = tmp_path / "witnessmark.toml"
    path.write_text('[deselect]\ntelnet-enabld = "no"\n', "utf-8")
    result = run("check", str(path))
    assert result.exit_code == 2
    assert f"{path}:2: /deselect/telnet-enabld" in result.stderr
    assert "Did you mean telnet-enabled?" in result.stderr


def test_no_title_is_cut_at_80_columns() -> None:
    """A title that needs more room goes on in the next line."""
    said = " ".join(run().stdout.split())
    assert "[...]" not in said
    assert all(rule.title in said for rule in load_program().rules if len(rule.title) < 20)
    assert "shorter than the site's minimum" in said


def test_a_narrow_terminal_gets_titles_below_their_rules() -> None:
    """Nothing is wider than 60 columns."""
    result = CliRunner().invoke(app, ["rules"], env={"COLUMNS": "60"})
    assert max(map(len, result.stdout.splitlines())) <= 60


def test_what_a_site_set_aside_and_changed_is_said(tmp_path: Path) -> None:
    """The list and the explanation of a rule name the reason and the parameter."""
    path = tmp_path / "witnessmark.toml"
    path.write_text(
        '[parameters]\nsession_timeout_maximum_s = 600\n[deselect]\ntelnet-enabled = "a lab without load"\n',
        "utf-8",
    )
    site = ("--site", str(path))
    listed = " ".join(run(*site).stdout.split())
    assert "set aside by the site: a lab without load" in listed
    assert "session_timeout_maximum_s: 600 s instead of" in listed
    assert "1 set aside." in listed
    assert "a lab without load" in " ".join(run("show", "telnet-enabled", *site).stdout.split())
    shown = " ".join(run("show", "session-timeout-long", *site).stdout.split())
    assert "parameter session_timeout_maximum_s: 600 s instead of" in shown


def test_a_rule_that_is_like_none_points_to_the_list() -> None:
    """Twelve ids at random help nobody."""
    result = run("show", "qqqqqqqq")
    assert result.exit_code == 2
    assert result.stderr == "no rule qqqqqqqq\n  List them: witnessmark rules\n"


def test_figures_have_a_decimal_and_are_said_once() -> None:
    """A score of nine is 9.0, and a factor is not said to be equal to itself."""
    said = [" ".join(text.split()) for text in explained().values()]
    assert not any(re.search(r"\(half up\) = \d+ ", text) for text in said)
    assert not any("is not 0 = 1.176" in text for text in said)
    assert any(re.search(r"\(half up\) = \d+\.0 ", text) for text in said)


def test_a_shipped_ruleset_is_checked_in_its_own_place() -> None:
    """The file of a shipped ruleset is no second copy of itself."""
    for name in ("baseline", "readiness"):
        result = run("check", str(ROOT / "rulesets" / f"{name}.toml"))
        assert result.exit_code == 0, result.stderr


def test_a_ruleset_given_twice_is_called_that() -> None:
    """One fault instead of one for every rule."""
    result = run("--ruleset", "baseline", "--ruleset", "baseline")
    assert result.exit_code == 2
    assert "ruleset baseline is given twice" in result.stderr
    assert len(result.stderr.splitlines()) == 2


OWN_RULE = """
[[rule]]
id = "{}"
title = "An own rule"
family = "site"
require = {{ at = "{}", equals = "power.example.org" }}
severity = {{ vector = "{}", because = "an example" }}
why = "An example."
mend = {{ text = "Set the domain." }}
verify = "Look."
sources = ["an example"]
"""


def test_faults_of_shape_hide_no_others(tmp_path: Path) -> None:
    """A misspelt id, an empty reason, an unknown pointer and a bad vector are told together."""
    path = tmp_path / "witnessmark.toml"
    rules = OWN_RULE.format("My_Rule", "/network/domain", "AV:N/AC:L/Au:N/C:N/I:P/A:N")
    rules += OWN_RULE.format("own-rule", "/network/domainn", "AV:Q/AC:L/Au:N/C:N/I:P/A:N")
    path.write_text('[deselect]\ntelnet-enabled = ""\nno-such = "x"\n' + rules, "utf-8")
    result = run("check", str(path))
    assert result.exit_code == 2
    told = result.stderr
    assert '/deselect/telnet-enabled: expected text of 1 to 4000 characters; found ""\n  Say why' in told
    assert "/deselect/no-such: no rule no-such" in told
    assert (
        '/rule/0/id: expected text such as telnet-enabled; found "My_Rule"\n  Write lower-case words joined'
        in told
    )
    assert "/rule/1/require/at: the record has no domainn" in told
    assert "/rule/1/severity/vector: no value 'Q'" in told
    assert len(told.splitlines()) == 10


def test_a_ruleset_tells_its_faults_together_too(tmp_path: Path) -> None:
    """The same in a ruleset, whose head is faulty besides."""
    path = tmp_path / "own.toml"
    rules = OWN_RULE.format("My_Rule", "/network/domain", "AV:N/AC:L/Au:N/C:N/I:P/A:N")
    rules += OWN_RULE.format("own-rule", "/network/domainn", "AV:N/AC:L/Au:N/C:N/I:P/A:N")
    path.write_text('[ruleset]\nname = "My own"\ntitle = "x"\nversion = "1"\n' + rules, "utf-8")
    told = run("check", str(path)).stderr
    assert [line.split()[1] for line in told.splitlines()[::2]] == [
        "/ruleset/name:", "/rule/0/id:", "/rule/1/require/at:",
    ]  # fmt: skip


def test_choices_before_the_word_show_hold_for_it() -> None:
    """As for the list: a site's own rule is found with the site before the word, or behind the id."""
    site = ["--site", "fixtures/estate/witnessmark.toml"]
    before = run(*site, "show", "log-collector-not-ours")
    assert before.exit_code == 0
    assert before.stdout == run("show", "log-collector-not-ours", *site).stdout
