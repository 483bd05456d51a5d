"""Small git repositories for tests, made by the git command with a clock and a person of their own."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

needs_git = pytest.mark.skipif(shutil.which("git") is None, reason="the git command is not installed")

_SURROUNDINGS = {
    "GIT_AUTHOR_NAME": "A. Tester", "GIT_AUTHOR_EMAIL": "tester@example.org",
    "GIT_COMMITTER_NAME": "A. Tester", "GIT_COMMITTER_EMAIL": "tester@example.org",
    "GIT_AUTHOR_DATE": "2026-11-25T12:00:00+00:00", "GIT_COMMITTER_DATE": "2026-11-25T12:00:00+00:00",
    "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_SYSTEM": os.devnull,
}  # fmt: skip


def git(folder: Path, *words: str) -> str:
    """Run git in a folder and return what it says."""
    environment = {**os.environ, **_SURROUNDINGS}
    command = ["git", "-c", "init.defaultBranch=main", "-c", "protocol.file.allow=always", *words]
    done = subprocess.run(command, cwd=folder, env=environment, check=True, capture_output=True, text=True)  # noqa: S603 - fixed words
    return done.stdout.strip()


def repository(folder: Path) -> Path:
    """Make an empty repository in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    git(folder, "init", "--quiet")
    return folder


def commit(folder: Path, message: str = "change") -> str:
    """Commit everything that lies in a repository; return the name of the commit."""
    git(folder, "add", "--all")
    git(folder, "commit", "--quiet", "--message", message)
    return git(folder, "rev-parse", "HEAD")
