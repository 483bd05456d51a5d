"""``witnessmark rules``: the list, one rule explained, a file checked."""

from pathlib import Path

from typer.testing import CliRunner, Result

from auditor.cli.main import app
from auditor.fleet.choices import load_program


def run(*arguments: str) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, ["rules", *arguments])


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
    for rule in load_program().rules:
        result = run("show", rule.id)
        assert result.exit_code == 0, rule.id
        assert [title for title in titles if title not in result.stdout] == [], rule.id


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
