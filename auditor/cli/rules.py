"""``witnessmark rules``: list the rules, explain one, check a site's own file of rules."""

from functools import partial
from typing import Annotated, NamedTuple

import typer

from auditor.cli.options import Rulesets, Site
from auditor.cli.standard_output import show as show_text
from auditor.cli.terminal import ExitCode, guarded, look_of_stdout, say

app = typer.Typer(help="List the rules, explain one, or check a file of your own.", rich_markup_mode=None)


class _Chosen(NamedTuple):
    """Rulesets and site as they stand on the command line."""

    rulesets: list[str]
    site: str | None


@app.callback(invoke_without_command=True)
def list_rules(context: typer.Context, ruleset: Rulesets = None, site: Site = None) -> None:
    """List the rules in force, by family, with their base scores."""
    context.obj = _Chosen(ruleset or [], site)
    if context.invoked_subcommand is None:
        raise typer.Exit(guarded(partial(_list, ruleset or [], site)))


@app.command()
def show(
    context: typer.Context,
    rule_id: Annotated[str, typer.Argument(metavar="ID", help="Id of the rule.")],
    ruleset: Rulesets = None,
    site: Site = None,
) -> None:
    """Explain one rule fully: why, mend, verify, sources, and its severity worked out."""
    before: _Chosen = context.obj  # what stands before the word "show"
    work = partial(_show, rule_id, [*before.rulesets, *(ruleset or [])], site or before.site)
    raise typer.Exit(guarded(work))


@app.command()
def check(file: Annotated[str, typer.Argument(help="A ruleset or a site's witnessmark.toml.")]) -> None:
    """Check a file of rules of your own: every fault with line and what to do."""
    raise typer.Exit(guarded(partial(_check, file)))


def _list(rulesets: list[str], site: str | None) -> ExitCode:
    from auditor.fleet.choices import load_program
    from auditor.report.rule_list import rule_list

    show_text(rule_list(load_program(rulesets, site), look_of_stdout()))
    return ExitCode.RELEASED


def _show(rule_id: str, rulesets: list[str], site: str | None) -> ExitCode:
    from auditor.fleet.choices import load_crosswalks, load_program
    from auditor.record.nearest import close_word
    from auditor.report.rule_text import rule_text

    program = load_program(rulesets, site)
    found = next((rule for rule in program.rules if rule.id == rule_id), None)
    if found is None:
        close = close_word(rule_id, [rule.id for rule in program.rules])
        say(f"no rule {rule_id}\n  {f'Did you mean {close}?' if close else 'List them: witnessmark rules'}")
        return ExitCode.UNUSABLE
    show_text(rule_text(found, program, load_crosswalks(), look_of_stdout()))
    return ExitCode.RELEASED


def _check(file: str) -> ExitCode:
    from auditor.fleet.choices import check_rules_file

    say(check_rules_file(file))
    return ExitCode.RELEASED
