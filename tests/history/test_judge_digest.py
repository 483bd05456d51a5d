"""By what a judge is known again: everything that an outcome hangs on, beside the record and the day."""

import ast
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

from auditor.facts import yescrypt
from auditor.facts.fact import Context
from auditor.fleet.choices import load_program
from auditor.fleet.context import context_of_run
from auditor.history import judge_digest as module
from auditor.history.judge_digest import LIBRARIES, judge_digest
from auditor.packaged import packaged
from auditor.rules.tailoring import Tailoring
from auditor.rules.word_list import NO_WORDS, read_word_list
from tests.rules.matrix import AS_OF, program

CORE = ("record", "facts", "rules", "scoring")


def digest() -> bytes:
    """Return the digest of one judge, as the tool is now."""
    module._core_digest.cache_clear()  # noqa: SLF001 - as a new process starts
    return judge_digest(program({}), Context(AS_OF))


def files_of(folder: Path) -> Iterator[Path]:
    """Yield every file of a package that is no compiled copy of another."""
    yield from (file for file in folder.rglob("*") if file.is_file() and "__pycache__" not in file.parts)


def test_the_judge_is_known_by_all_that_it_judges_by(tmp_path: Path) -> None:
    """Another site file, other words, other hash words: another digest; the day is no part of it."""
    site = tmp_path / "witnessmark.toml"
    site.write_text("[parameters]\nsession_timeout_maximum_s = 60\n", "utf-8")
    plain, tailored = load_program(), load_program(site=str(site))
    context, later = (context_of_run(at, NO_WORDS) for at in (AS_OF, AS_OF.replace(year=2030)))
    listed = replace(plain, tailoring=Tailoring(word_list=read_word_list(b"siteKey", "words.txt")))
    digests = {
        judge_digest(listed, context),
        judge_digest(plain, replace(context, word_list="0123456789abcdef")),
        judge_digest(plain, context),
        judge_digest(tailored, context),
        judge_digest(plain, Context(AS_OF, frozenset({"word"}))),
        judge_digest(plain, Context(AS_OF)),
        judge_digest(plain, Context(AS_OF, hash_words=())),
    }
    assert len(digests) == 7
    assert judge_digest(plain, later) in digests


def test_all_code_that_judges_counts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One file of every package of the core, those inside of others too: if it changes, the digest does."""
    for folder in CORE:
        shutil.copytree(packaged(folder), tmp_path / folder, ignore=shutil.ignore_patterns("__pycache__"))
    (tmp_path / "history").mkdir()
    shutil.copy(packaged("history", "lasting_text.py"), tmp_path / "history")
    before = digest()
    monkeypatch.setattr(module, "packaged", tmp_path.joinpath)
    assert digest() == before
    files = {file.parent: file for folder in (*CORE, "history") for file in files_of(tmp_path / folder)}
    assert any(folder.parent.name == "facts" for folder in files)
    for file in files.values():
        text = file.read_bytes()
        file.write_bytes(text + b"\n")
        assert digest() != before, file.name
        file.write_bytes(text)
    module._core_digest.cache_clear()  # noqa: SLF001 - what was copied goes


def _without_yescrypt(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(yescrypt, "is_known", lambda: not yescrypt._crypt())  # noqa: SLF001


def _other_python(patch: pytest.MonkeyPatch) -> None:
    patch.setattr("sys.version", "4.0.0 (invented)")


def _other_library(patch: pytest.MonkeyPatch) -> None:
    patch.setattr("importlib.metadata.version", lambda name: "99" if name == "cryptography" else "1")


@pytest.mark.parametrize("change", [_without_yescrypt, _other_python, _other_library])
def test_what_the_code_stands_on_counts(
    monkeypatch: pytest.MonkeyPatch, change: Callable[[pytest.MonkeyPatch], None]
) -> None:
    """A hash that could not be tried yesterday may be tried today; a library may read more."""
    before = digest()
    change(monkeypatch)
    assert digest() != before


def test_every_library_of_the_core_is_among_those_that_count() -> None:
    """Read from the text of the core: what it imports that is neither Python's nor ours."""
    trees = (ast.parse(file.read_text("utf-8")) for folder in CORE for file in packaged(folder).rglob("*.py"))
    nodes = [node for tree in trees for node in ast.walk(tree)]
    imported = {alias.name for node in nodes if isinstance(node, ast.Import) for alias in node.names}
    imported |= {node.module for node in nodes if isinstance(node, ast.ImportFrom) and node.module}
    owners = packages_distributions()
    used = {owner for name in imported for owner in owners.get(name.partition(".")[0], ())}
    used = {owner.replace("_", "-") for owner in used}
    assert used - {"witnessmark"} == set(LIBRARIES)
