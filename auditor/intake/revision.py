"""Records as they stood at a revision of a git repository, read from its objects: no program is run.

Knows git's files only as far as ``dulwich`` reads them: no fetch, no hook, no filter. What a
checkout would change in a file (line ends, large files kept elsewhere) is not done here.
"""

import os
import re
from collections.abc import Iterator, Sequence
from io import BytesIO
from pathlib import Path
from stat import S_ISDIR, S_ISLNK, S_ISREG
from types import TracebackType
from typing import TYPE_CHECKING, Final, Self

from auditor.dataclass import dataclass
from auditor.errors import Fault, InputError
from auditor.intake.folder import holds_records, shown
from auditor.intake.source import RawRecord, raw_records
from auditor.record.limits import DEFAULT, Limits, too_large

if TYPE_CHECKING:
    from dulwich.objects import Commit, Tree
    from dulwich.repo import Repo

_STEPS: Final = re.compile(r"(?P<name>.+?)(?P<steps>(?:~\d*|\^)*)", re.DOTALL)
_SINCE: Final = "..."
"""``main...`` is the commit at which HEAD and main parted, as git itself writes it (git-diff)."""

_MOST_LINKS: Final = 8
"""So many links are followed one after the other; our own figure."""

_DEEPER: Final = "Fetch more of its history (git fetch --unshallow), or name a later revision."


@dataclass(frozen=True, slots=True)
class _Entry:
    """A name in the tree of a commit: its path from the top of the repository, mode and object."""

    path: bytes
    mode: int
    sha: bytes


class Revision:
    """The files of one revision. Use it in a ``with``: it holds files of the repository open."""

    def __init__(self, name: str, paths: Sequence[str], limits: Limits = DEFAULT) -> None:
        """Find the repository around the paths, and the revision in it.

        Raises:
            InputError: if there is no repository, they lie in several, or there is no such revision.
        """
        self._name = name
        self._limits = limits
        self._paths = tuple(paths)
        self._repository = _repository_around(paths)
        self._top = os.path.realpath(self._repository.path)
        try:
            self._tree = self._state(name)
        except BaseException:
            self._repository.close()
            raise

    def __enter__(self) -> Self:
        """Return itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Let the repository's files go."""
        self._repository.close()

    def raw_records(self) -> Iterator[RawRecord | Fault]:
        """Yield every raw record below the paths at the revision, as folders of files are read.

        A path that was not there then gives nothing. Submodules hold no records of this repository;
        a link is followed to a file of the revision, and to nothing else.
        """
        for path in self._paths:
            for entry in self._below(self._inside(path)):
                yield from self._records_of(entry)

    def holds(self, path: str) -> bool:
        """Tell whether a path was there at the revision."""
        return self._entry(self._inside(path)) is not None

    def _state(self, name: str) -> "Tree":
        if name == "HEAD" and _is_before_first_commit(self._repository):
            from dulwich.objects import Tree

            return Tree()
        if name.endswith(_SINCE):
            return self._tree_of(_parting(self._repository, name))
        return self._tree_of(_commit(self._repository, name))

    def _tree_of(self, commit: "Commit") -> "Tree":
        from dulwich.objects import Tree

        try:
            tree = self._repository.object_store[commit.tree]
        except KeyError as error:
            raise _refused(self._name, "its files are not in this clone", _DEEPER) from error
        assert isinstance(tree, Tree)  # noqa: S101 - a commit has a tree
        return tree

    def _inside(self, path: str) -> bytes:
        """Return a path from the top of the repository; links on the way to it are followed."""
        folder, name = os.path.split(path.rstrip("/") or path)
        real = os.path.realpath(path) if Path(path).is_dir() else os.path.join(os.path.realpath(folder), name)  # noqa: PTH118
        inside = os.path.relpath(real, self._top)
        return b"" if inside == "." else os.fsencode(inside)

    def _below(self, path: bytes) -> Iterator[_Entry]:
        """Yield the files at a path: itself, or every record file below a folder, names sorted."""
        entry = self._entry(path)
        if entry is None:
            return
        if not S_ISDIR(entry.mode):
            yield entry
            return
        yield from self._files(entry)

    def _files(self, folder: _Entry) -> Iterator[_Entry]:
        tree = self._object(folder.sha)
        for item in sorted(tree.items()) if tree is not None else ():  # type: ignore[attr-defined]
            path = folder.path + b"/" + item.path if folder.path else item.path
            inner = _Entry(path, item.mode, item.sha)
            if item.path.startswith(b"."):
                continue
            if S_ISDIR(item.mode):
                yield from self._files(inner)
            elif holds_records(os.fsdecode(item.path)):
                yield inner

    def _entry(self, path: bytes) -> _Entry | None:
        if not path:
            return _Entry(b"", 0o040000, self._tree.id) if len(self._tree) else None
        try:
            mode, sha = self._tree.lookup_path(self._repository.object_store.__getitem__, path)
        except (KeyError, ValueError, NotADirectoryError):
            return None
        return _Entry(path, mode, sha)

    def _object(self, sha: bytes) -> object | None:
        from dulwich.objects import ObjectID

        try:
            return self._repository.object_store[ObjectID(sha)]
        except KeyError:
            return None

    def _records_of(self, entry: _Entry) -> Iterator[RawRecord | Fault]:
        file = f"{self._name}:{shown(os.fsdecode(entry.path))}"
        real = self._followed(entry)
        if real is None:
            return
        blob = self._object(real.sha)
        if blob is None:
            yield Fault(file, "", 0, 0, f"its content at {self._name} is not in this clone", _DEEPER)
            return
        content: bytes = blob.as_raw_string()  # type: ignore[attr-defined]
        if len(content) > self._limits.record_bytes and not file.lower().endswith((".ndjson", ".gz")):
            yield too_large(file, 1, self._limits)
        else:
            yield from raw_records(BytesIO(content), file, self._limits)

    def _followed(self, entry: _Entry) -> _Entry | None:
        """Return the file that an entry leads to; None for a submodule, or a link out of the revision."""
        for _ in range(_MOST_LINKS):
            if S_ISREG(entry.mode):
                return entry
            blob = self._object(entry.sha) if S_ISLNK(entry.mode) else None
            if blob is None:
                return None
            target: bytes = blob.as_raw_string()  # type: ignore[attr-defined]
            path = os.path.normpath(os.path.join(os.path.dirname(entry.path), target))  # noqa: PTH118, PTH120
            found = None if path.startswith((b"..", b"/")) else self._entry(path)
            if found is None:
                return None
            entry = found
        return None


def _repository_around(paths: Sequence[str]) -> "Repo":
    from dulwich.errors import NotGitRepository
    from dulwich.repo import Repo

    tops = {_top_of(path) for path in paths}
    if len(tops) > 1:
        problem = f"the paths lie in {len(tops)} repositories, or some in none"
        raise InputError([Fault("--against", "", 0, 0, problem, "Give the paths of one repository.")])
    (top,) = tops
    problem = f"{shown(paths[0])} lies in no git repository that can be read"
    remedy = "Give paths of a clone, or compare two folders: witnessmark gate BEFORE AFTER."
    fault = Fault("--against", "", 0, 0, problem, remedy)
    if top is None:
        raise InputError([fault])
    try:
        return Repo(top)
    except (NotGitRepository, OSError) as error:
        raise InputError([fault]) from error


def _top_of(path: str) -> str | None:
    folder = os.path.realpath(path)
    while not os.path.lexists(os.path.join(folder, ".git")):  # noqa: PTH118 - a name may hold what no name can
        folder, name = os.path.split(folder)
        if not name:
            return None
    return folder


def _commit(repository: "Repo", name: str) -> "Commit":
    """Return the commit of a name, with any steps to parents: ``main``, ``v1.2``, ``HEAD~2``, ``4f1c^``."""
    from dulwich.objectspec import parse_commit

    match = _STEPS.fullmatch(name)
    if match is None:
        raise _refused(name, "no name of a revision", "Name a branch, a tag or a commit.")
    try:
        commit = parse_commit(repository, match["name"].encode("utf-8", "surrogateescape"))
    except (KeyError, ValueError, AssertionError) as error:
        remedy = "Name a branch, a tag or a commit of this clone; a branch of a remote is origin/NAME."
        raise _refused(name, "there is no such revision in this clone", remedy) from error
    return _ancestor(repository, commit, _generations(match["steps"]), name)


def _is_before_first_commit(repository: "Repo") -> bool:
    """Tell whether HEAD is a branch that has no commit yet."""
    _, commit = repository.refs.follow(b"HEAD")  # type: ignore[arg-type]
    return commit is None


def _parting(repository: "Repo", name: str) -> "Commit":
    """Return the commit at which HEAD and a revision parted; of several, the one that git takes first."""
    from dulwich.graph import find_merge_base

    heads = [_commit(repository, each).id for each in (name.removesuffix(_SINCE) or "HEAD", "HEAD")]
    bases = find_merge_base(repository, heads)
    if not bases:
        raise _refused(name, "in this clone HEAD and that revision have no commit in common", _DEEPER)
    return _commit(repository, bases[0].decode())


def _generations(steps: str) -> int:
    return sum(int(step[1:] or 1) if step[0] == "~" else 1 for step in re.findall(r"~\d*|\^", steps))


def _ancestor(repository: "Repo", commit: "Commit", generations: int, name: str) -> "Commit":
    from dulwich.objects import Commit

    for _ in range(generations):
        if not commit.parents:
            raise _refused(name, "the history is not as long as that", "Name a later revision.")
        try:
            parent = repository.object_store[commit.parents[0]]
        except KeyError as error:
            raise _refused(name, "this clone does not reach back so far", _DEEPER) from error
        assert isinstance(parent, Commit)  # noqa: S101 - a parent is a commit
        commit = parent
    return commit


def _refused(name: str, problem: str, remedy: str) -> InputError:
    return InputError([Fault(f"--against {shown(name)}", "", 0, 0, problem, remedy)])
