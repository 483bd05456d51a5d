"""The demo estate as the commands see it: sealed as in clear, and wherever it lies."""

import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from auditor import audit, load_program
from auditor.cli.main import app
from auditor.fleet.audit import Audited
from tests.record.mutations import COMPLIANT
from tests.rules.matrix import AS_OF, ROOT

ESTATE = ROOT / "fixtures/estate"
RULE = "clear-secrets-in-work-tree"


def said(audited: Audited) -> dict[str, tuple[object, ...]]:
    """Return what an audit says of each card, but for files and the words of evidence."""
    return {
        one.card.id: (
            [(f.rule.id, f.pointer, f.outcome, f.severity) for f in one.findings],
            [(m.rule.id, m.pointer) for m in one.missing],
            one.outcomes,
            one.score,
            one.coverage_percent,
        )
        for one in audited.cards
    }


def audited(folder: Path) -> Audited:
    """Audit an estate as the site does."""
    return audit([str(folder)], load_program(site=str(ESTATE / "witnessmark.toml")), as_of=AS_OF)


def test_the_sealed_estate_audits_as_the_clear_one(tmp_path: Path) -> None:
    """All cards have the same findings, scores and coverage, and share the same secrets."""
    key, sealed = tmp_path / "key", tmp_path / "sealed"
    CliRunner().invoke(app, ["seal", "--new-key", str(key)])
    site = ("--site", str(ESTATE / "witnessmark.toml"))
    result = CliRunner().invoke(app, ["seal", str(ESTATE), "--key", str(key), *site, "--to", str(sealed)])
    assert result.exit_code == 2  # one record can't be used
    before, after = audited(ESTATE), audited(sealed)
    assert said(after) == said(before)
    shared = [
        [(s.kind, sorted(s.card_ids), s.severity) for s in each.summary.shared] for each in (before, after)
    ]
    assert sorted(shared[0], key=str) == sorted(shared[1], key=str) != []


@pytest.mark.parametrize("mark", ["", ".git"])
def test_the_estate_has_the_same_findings_wherever_it_lies(tmp_path: Path, mark: str) -> None:
    """Its own file sets the rule on work trees aside: an export without one gives the same ledger."""
    copy = tmp_path / "estate"
    shutil.copytree(ESTATE, copy)
    if mark:
        (tmp_path / mark).mkdir()
    assert said(audited(copy)) == said(audited(ESTATE))


def test_clear_secrets_in_a_work_tree_are_a_finding(tmp_path: Path) -> None:
    """The card is held while its record is open under version control, and released once it is sealed."""
    record = tmp_path / "tree" / "cards" / "card.json"
    record.parent.mkdir(parents=True)
    record.write_bytes(COMPLIANT.read_bytes())
    assert rules_failing(record) == (0, False)
    (tmp_path / "tree" / ".git").mkdir()
    assert rules_failing(record) == (1, True)
    key = tmp_path / "key"
    CliRunner().invoke(app, ["seal", "--new-key", str(key)])
    CliRunner().invoke(app, ["seal", str(record), "--key", str(key)])
    assert rules_failing(record) == (0, False)


def rules_failing(record: Path) -> tuple[int, bool]:
    """Return the exit code of an audit, and whether it tells of the work tree."""
    result = CliRunner().invoke(app, ["audit", str(record), "--as-of", "2026-11-25"])
    return result.exit_code, RULE in result.stdout
