"""The public door: what is exported, and from where."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import auditor


def _typed() -> dict[str, str]:
    """Return the public names as a type checker sees them, with the modules that they come from."""
    tree = ast.parse(Path(auditor.__file__).read_text("utf-8"))
    typed = next(node for node in tree.body if isinstance(node, ast.If))
    imports = [node for node in typed.body if isinstance(node, ast.ImportFrom)]
    return {alias.name: node.module or "" for node in imports for alias in node.names}


def test_every_public_name_is_exported_as_it_is_typed() -> None:
    """What a type checker sees is what a program gets, of the same module; ruff keeps the list in order."""
    assert set(_typed()) | {"__version__"} == set(auditor.__all__) == set(dir(auditor))
    for name, module in _typed().items():
        assert getattr(auditor, name) is getattr(sys.modules[module], name)


def test_no_other_name_is_there() -> None:
    """A misspelt name is refused as by any module, and by a type checker."""
    with pytest.raises(AttributeError, match="module 'auditor' has no attribute 'adit'"):
        _ = auditor.adit  # type: ignore[attr-defined]


def test_importing_the_package_imports_none_of_its_parts() -> None:
    """Whoever asks for the version, or presses the tab key, does not wait for the engine."""
    code = "import sys, auditor; print(sorted(name for name in sys.modules if 'auditor' in name))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True)  # noqa: S603
    assert done.stdout.strip() == "['auditor', 'auditor.version']"
