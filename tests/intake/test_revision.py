"""Records at a revision, read from git's objects: the same as a checkout of it would give."""

import gzip
import os
from pathlib import Path

import pytest

from auditor.errors import Fault, InputError
from auditor.intake.revision import Revision
from tests.intake.git_repository import commit, git, needs_git, repository

pytestmark = needs_git


def texts(revision: str, *paths: Path) -> dict[str, bytes]:
    """Return the raw records at a revision, by file."""
    with Revision(revision, [str(path) for path in paths]) as found:
        return {raw.file: raw.text for raw in found.raw_records() if not isinstance(raw, Fault)}


def faults(revision: str, *paths: Path) -> list[Fault]:
    """Return the faults at a revision."""
    with Revision(revision, [str(path) for path in paths]) as found:
        return [raw for raw in found.raw_records() if isinstance(raw, Fault)]


def refusal(revision: str, *paths: Path) -> str:
    """Return the words with which a revision is refused."""
    with pytest.raises(InputError) as caught:
        texts(revision, *paths)
    return str(caught.value)


def commit_more(clone: Path) -> None:
    """Move the branch on by one commit."""
    (clone / "records/a.json").write_bytes(b"3")
    commit(clone)


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    """Return a repository of three revisions: main has the second, the branch next the third."""
    top = repository(tmp_path / "clone")
    (top / "records").mkdir()
    (top / "records/a.json").write_bytes(b"1")
    commit(top)
    git(top, "tag", "--annotate", "v1", "--message", "first")
    (top / "records/a.json").write_bytes(b"2")
    (top / "records/b.json").write_bytes(b"2b")
    commit(top)
    git(top, "checkout", "--quiet", "-b", "next")
    git(top, "rm", "--quiet", "records/b.json")
    git(top, "mv", "records/a.json", "records/c.json")
    commit(top)
    return top


@pytest.mark.parametrize("name", ["main", "next~1", "HEAD^", "HEAD~", "refs/heads/main", "v1"])
def test_a_revision_is_named_as_people_name_it(clone: Path, name: str) -> None:
    """Branch, tag (annotated too), steps to parents: each gives the files of that commit."""
    wanted = (
        {f"{name}:records/a.json": b"1"}
        if name == "v1"
        else {
            f"{name}:records/a.json": b"2",
            f"{name}:records/b.json": b"2b",
        }
    )
    assert texts(name, clone / "records") == wanted


def test_a_commit_is_named_by_the_beginning_of_its_digest(clone: Path) -> None:
    """Seven digits, as people copy them, and all forty."""
    whole = git(clone, "rev-parse", "v1^{commit}")
    for name in (whole, whole[:7]):
        assert list(texts(name, clone / "records").values()) == [b"1"]


def test_renames_and_deletions_are_those_of_the_tree(clone: Path) -> None:
    """At the tip of the branch there is one file, under its new name."""
    assert texts("next", clone) == {"next:records/c.json": b"2"}


def test_one_file_and_one_that_was_not_there_yet(clone: Path) -> None:
    """A path of a file is that file alone; one that was added later gives nothing."""
    assert texts("main", clone / "records/a.json") == {"main:records/a.json": b"2"}
    assert texts("v1", clone / "records/b.json") == {}


@pytest.mark.parametrize("name", ["no-such-branch", "main~99", "deadbee", "v1:records", "", "~"])
def test_a_revision_that_is_not_there_is_refused_with_what_to_do(clone: Path, name: str) -> None:
    """The name is repeated, and what could be named."""
    said = refusal(name, clone / "records")
    assert f"--against {name}" in said
    assert said.count("\n") == 1


def test_a_shallow_clone_tells_that_it_does_not_reach_back(clone: Path, tmp_path: Path) -> None:
    """The tip can be read; its parent is not there, and the words say how to get it."""
    shallow = tmp_path / "shallow"
    git(tmp_path, "clone", "--quiet", "--depth", "1", f"file://{clone}", str(shallow))
    assert list(texts("HEAD", shallow / "records").values()) == [b"2"]
    said = refusal("HEAD~1", shallow / "records")
    assert "unshallow" in said


def test_three_points_are_where_the_branch_left(clone: Path) -> None:
    """Source: git-diff(1), ``git diff A...B``; git's own merge-base says which commit. Main has moved on."""
    git(clone, "checkout", "--quiet", "main")
    commit_more(clone)
    git(clone, "checkout", "--quiet", "next")
    base = git(clone, "merge-base", "main", "HEAD")
    assert list(texts("main...", clone).values()) == list(texts(base, clone).values()) == [b"2", b"2b"]
    assert texts("next...", clone) == {"next...:records/c.json": b"2"}


def test_where_a_branch_left_can_be_beyond_a_shallow_clone(clone: Path, tmp_path: Path) -> None:
    """Nothing in common is known there: refused, with how to get it."""
    git(clone, "checkout", "--quiet", "main")
    commit_more(clone)
    git(tmp_path, "clone", "--quiet", "--depth", "1", "--no-single-branch", f"file://{clone}", "shallow")
    git(tmp_path / "shallow", "checkout", "--quiet", "next")
    said = refusal("origin/main...", tmp_path / "shallow")
    assert "no commit in common" in said
    assert "--unshallow" in said


def test_before_the_first_commit_there_was_nothing(tmp_path: Path) -> None:
    """HEAD of a repository that has no commit; any other name is refused."""
    top = repository(tmp_path / "new")
    (top / "a.json").write_bytes(b"1")
    assert texts("HEAD", top, top / "a.json") == {}
    assert "no such revision" in refusal("main", top)


def test_names_with_spaces_and_beyond_ascii_are_read(tmp_path: Path) -> None:
    """Folders and files of any name, also one that is no UTF-8."""
    top = repository(tmp_path / "clone")
    odd = top / "süd höhe" / "plant 1"
    odd.mkdir(parents=True)
    (odd / "ups ä.json").write_bytes(b"1")
    Path(os.fsdecode(os.fsencode(odd) + b"/\xff.json")).write_bytes(b"2")
    commit(top)
    found = texts("HEAD", odd)
    assert sorted(found.values()) == [b"1", b"2"]
    assert "HEAD:süd höhe/plant 1/ups ä.json" in found


def test_only_what_is_a_file_of_records_is_read(tmp_path: Path) -> None:
    """As in a folder: hidden names, schemas and other endings are left out; lines and gzip are read."""
    top = repository(tmp_path / "clone")
    (top / ".hidden").mkdir()
    for name in (".hidden/a.json", ".b.json", "x.schema.json", "notes.txt"):
        (top / name).write_bytes(b"no")
    (top / "two.ndjson").write_bytes(b"1\n2\n")
    (top / "packed.json.gz").write_bytes(gzip.compress(b"3"))
    (top / "broken.json.gz").write_bytes(gzip.compress(b"3" * 999)[:-9])
    commit(top)
    with Revision("HEAD", [str(top)]) as found:
        raws = list(found.raw_records())
    assert [raw.text for raw in raws if not isinstance(raw, Fault)] == [b"3", b"1", b"2"]
    (fault,) = (raw for raw in raws if isinstance(raw, Fault))
    assert fault.file == "HEAD:broken.json.gz"


def test_modes_links_and_submodules(tmp_path: Path) -> None:
    """An executable file is a file; a link is followed inside the revision; a submodule is not ours."""
    inner = repository(tmp_path / "inner")
    (inner / "z.json").write_bytes(b"inner")
    commit(inner)
    top = repository(tmp_path / "clone")
    (top / "real").mkdir()
    (top / "real/a.json").write_bytes(b"1")
    (top / "real/a.json").chmod(0o755)
    (top / "linked.json").symlink_to("real/a.json")
    (top / "astray.json").symlink_to("../inner/z.json")
    (top / "circle.json").symlink_to("circle.json")
    git(top, "submodule", "--quiet", "add", str(inner), "sub.json")
    commit(top)
    assert texts("HEAD", top) == {"HEAD:linked.json": b"1", "HEAD:real/a.json": b"1"}


def test_another_work_tree_of_the_repository_will_do(clone: Path, tmp_path: Path) -> None:
    """Where ``.git`` is a file that points elsewhere."""
    other = tmp_path / "other"
    git(clone, "worktree", "add", "--quiet", str(other), "main")
    assert set(texts("v1", other / "records").values()) == {b"1"}


def test_paths_outside_any_repository_are_refused(tmp_path: Path, clone: Path) -> None:
    """And so are paths of two repositories at once."""
    assert "lies in no git repository" in refusal("HEAD", tmp_path)
    second = repository(tmp_path / "second")
    assert "2 repositories" in refusal("HEAD", clone, second)


def test_content_that_a_clone_left_out_is_a_fault(clone: Path, tmp_path: Path) -> None:
    """A partial clone has names without content: told for each file, and reading goes on."""
    partial = tmp_path / "partial"
    git(clone, "config", "uploadpack.allowFilter", "true")
    git(tmp_path, "clone", "--quiet", "--no-checkout", "--filter=blob:none", f"file://{clone}", str(partial))
    found = faults("origin/next", partial / "records")
    assert [fault.file for fault in found] == ["origin/next:records/c.json"]
    assert "not in this clone" in found[0].problem


def test_a_path_that_is_gone_is_still_known_at_the_revision(clone: Path) -> None:
    """``holds`` tells what was there, also where nothing lies any more."""
    with Revision("main", [str(clone)]) as found:
        assert found.holds(str(clone / "records/b.json"))
        assert not found.holds(str(clone / "records/never.json"))
