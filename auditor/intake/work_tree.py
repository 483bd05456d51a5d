"""Whether a file lies in a work tree of version control, by the marks that such trees carry.

Looks at names only, and only upwards from the file; runs no other program, reads no content.
"""

import os

MARKS = (".git", ".hg", ".svn")
"""Names, of a folder or a file, that mark the top of a work tree. Common practice, no source."""


class WorkTrees:
    """Tells of files whether they lie in a work tree; each folder is looked at once."""

    def __init__(self) -> None:
        """Begin with no folder."""
        self._folders: dict[str, bool | None] = {}
        self._last: tuple[str, bool | None] = ("", None)

    def hold(self, file: str) -> bool | None:
        """Tell whether a file, or a folder, lies in a work tree; None where there is no such file."""
        if file != self._last[0]:
            self._last = (file, self._of_folder(_folder_of(file)))
        return self._last[1]

    def _of_folder(self, folder: str) -> bool | None:
        if folder not in self._folders:
            self._folders[folder] = _is_inside(os.path.realpath(folder)) if os.path.isdir(folder) else None  # noqa: PTH112 - never raises
        return self._folders[folder]


def _folder_of(file: str) -> str:
    if os.path.isdir(file):  # noqa: PTH112 - never raises, as Path does where a folder is shut
        return file
    if not os.path.lexists(file):
        return "\0"  # no folder has this name
    return os.path.dirname(os.path.realpath(file) if os.path.islink(file) else file) or os.curdir  # noqa: PTH114, PTH120


def _is_inside(folder: str) -> bool:
    parent = os.path.dirname(folder)  # noqa: PTH120
    marked = any(os.path.lexists(os.path.join(folder, mark)) for mark in MARKS)  # noqa: PTH118
    return marked or (parent != folder and _is_inside(parent))
