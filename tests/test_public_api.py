"""The public door: what is exported."""

from types import ModuleType

import auditor


def test_every_public_name_is_exported() -> None:
    """What the package imports by name is what it exports; ruff keeps the list in order."""
    modules = {name for name, value in vars(auditor).items() if isinstance(value, ModuleType)}
    public = {name for name in vars(auditor) if not name.startswith("_")} - modules
    assert public | {"__version__"} == set(auditor.__all__)
