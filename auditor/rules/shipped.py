"""The rulesets and crosswalks that come with the tool: found by name, read from the package."""

from pathlib import Path

from auditor.packaged import packaged

CROSSWALKS = ("nist-sp-800-53r5", "iec-62443-3-3")


def shipped_rulesets() -> tuple[str, ...]:
    """Return the names of the shipped rulesets, sorted."""
    return tuple(
        sorted(path.name.removesuffix(".toml") for path in _folder().iterdir() if path.name.endswith(".toml"))
    )


def shipped_ruleset(name: str) -> tuple[bytes, str]:
    """Return the text of a shipped ruleset and the file name to show for it.

    Raises:
        FileNotFoundError: if no ruleset of that name is shipped.
    """
    return _folder().joinpath(f"{name}.toml").read_bytes(), f"rulesets/{name}.toml"


def shipped_crosswalk(name: str) -> tuple[bytes, str]:
    """Return the text of a shipped crosswalk and the file name to show for it."""
    return _folder().joinpath("crosswalk", f"{name}.toml").read_bytes(), f"rulesets/crosswalk/{name}.toml"


def _folder() -> Path:
    """Return the folder of rulesets: inside an installed package, beside it in a work tree."""
    inside = packaged("rulesets")
    return inside if inside.is_dir() else packaged().parent / "rulesets"
