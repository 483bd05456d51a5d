"""Faults of a ruleset while it is read: collected, so that all are reported together."""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class RuleFault:
    """One fault, at a path of keys and indexes in the TOML document."""

    path: tuple[str | int, ...]
    problem: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Faults:
    """Faults found so far. The one list here grows while a file is read, and only then."""

    found: list[RuleFault] = field(default_factory=list)

    def add(self, path: tuple[str | int, ...], problem: str, remedy: str) -> None:
        """Note one fault."""
        self.found.append(RuleFault(path, problem, remedy))
