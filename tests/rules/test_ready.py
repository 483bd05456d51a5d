"""Rulesets made ready say what their texts say, and nothing once these have changed."""

import os
from pathlib import Path

import pytest

from auditor.facts.catalogue import FACTS
from auditor.fleet.choices import load_rulesets
from auditor.rules import ready
from auditor.rules.loading import load_ruleset
from auditor.rules.ready import content_of, ready_ruleset
from auditor.rules.shipped import shipped_ruleset, shipped_rulesets
from tests.tools.ready_rulesets import make_ready


@pytest.fixture(scope="module", autouse=True)
def _renewed() -> None:
    """Make the files anew where GOLDEN_RENEW=1 asks for it."""
    if os.environ.get("GOLDEN_RENEW") == "1":
        make_ready()


@pytest.mark.parametrize("name", shipped_rulesets())
def test_a_ready_ruleset_is_what_its_text_says(name: str) -> None:
    """To the last field, and it is what a run gets; to renew: python -m tests.tools.ready_rulesets."""
    text, file = shipped_ruleset(name)
    found = ready_ruleset(name, text)
    assert found is not None, "out of date: run python -m tests.tools.ready_rulesets"
    assert repr(found) == repr(load_ruleset(text, file, FACTS))
    assert repr(load_rulesets([name])) == repr((found,))


def test_a_changed_text_is_read_itself() -> None:
    """One letter is enough."""
    text, _ = shipped_ruleset("readiness")
    assert ready_ruleset("readiness", text + b"\n") is None


def test_changed_code_reads_the_text_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """What another state of the code has read is never taken."""
    monkeypatch.setattr(ready, "_digest_of_code", lambda: b"another")
    assert ready_ruleset("readiness", shipped_ruleset("readiness")[0]) is None


def test_a_text_is_read_where_nothing_is_ready(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A file that is not there, or was cut off, is no fault; the run gets the same rules."""
    before = repr(load_rulesets(["readiness"]))
    file = tmp_path / "ready"
    monkeypatch.setattr(ready, "file_of", lambda _: file)
    assert repr(load_rulesets(["readiness"])) == before
    file.write_bytes(b"short")
    assert repr(load_rulesets(["readiness"])) == before


def test_what_is_written_down_is_read_back(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A run takes what the file says: rules of another title, here."""
    text, file = shipped_ruleset("readiness")
    other = load_ruleset(text.replace(b'title = "', b'title = "Other: ', 1), file, FACTS)
    monkeypatch.setattr(ready, "file_of", lambda _: tmp_path / "ready")
    (tmp_path / "ready").write_bytes(content_of(other, text))
    assert load_rulesets(["readiness"])[0].title == other.title
    assert other.title.startswith("Other: ")
