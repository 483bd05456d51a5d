"""Faults of a ruleset while it is read: collected, so that all are reported together."""

from auditor.dataclass import dataclass, field


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

    def stand_in(self, path: tuple[str | int, ...]) -> bool:
        """Tell whether a fault was found at a place, or within it."""
        return any(fault.path[: len(path)] == path for fault in self.found)

    def spoil(self, *tables: str) -> bool:
        """Tell whether one of the tables of a document can't be gone through; its members may be faulty."""
        whole = {(), *((table,) for table in tables)}
        return any(fault.path in whole for fault in self.found)

    def add(self, path: tuple[str | int, ...], problem: str, remedy: str) -> None:
        """Note one fault."""
        self.found.append(RuleFault(path, problem, remedy))
