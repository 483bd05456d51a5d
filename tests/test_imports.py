"""The architecture: who may import whom, read from the text of every module."""

import ast
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import pytest

ROOT: Final = Path(__file__).parent.parent

_LEAVES: Final = frozenset({"dataclass", "errors", "packaged", "version"})
"""Modules at the top that anything may import, and that import nothing of ours."""

_CORE: Final = frozenset({"scoring", "rules", "facts", "record"})

# The arrows of DESIGN.md section 4. A package is named here, or has no right to be.
MAY_IMPORT: Final[Mapping[str, frozenset[str]]] = {
    "dataclass": frozenset(),
    "errors": frozenset({"dataclass"}),
    "packaged": frozenset(),
    "version": frozenset(),
    "record": frozenset(),
    "facts": frozenset({"record"}),
    "rules": frozenset({"facts", "record"}),
    "scoring": frozenset({"rules", "facts", "record"}),
    "intake": frozenset({"record"}),
    "fleet": _CORE | {"intake"},
    "change": _CORE,
    "history": _CORE | {"fleet", "intake"},
    "procedure": _CORE,
    "report": _CORE | {"change", "fleet", "history", "intake", "procedure"},
    "cli": _CORE | {"report", "change", "history", "procedure", "fleet", "intake"},
    "__main__": frozenset({"cli"}),
    "__init__": _CORE | {"report", "change", "history", "procedure", "fleet", "intake"},
}

# Single modules that a package may import beside, each with its reason.
EXCEPTIONS: Final[Mapping[str, frozenset[str]]] = {
    "rules": frozenset({"auditor.scoring.ccss"}),  # a rule's vector is checked when it is read
}

NETWORK_AND_PROCESSES: Final = frozenset(
    {
        "aiohttp", "asyncio", "ftplib", "http", "httpx", "imaplib", "multiprocessing", "poplib", "pty",
        "requests", "select", "selectors", "smtplib", "socket", "socketserver", "ssl", "subprocess",
        "telnetlib", "urllib", "urllib3", "webbrowser", "xmlrpc",
    }
)  # fmt: skip

IMPURE: Final = NETWORK_AND_PROCESSES | {
    "io",
    "logging",
    "os",
    "random",
    "sqlite3",
    "sys",
    "tempfile",
    "time",
}
"""What the core has no use for: it reads its own packaged data and its arguments, no more."""

IMPURE_CALLS: Final = frozenset({"print", "open", "input", "breakpoint", "now", "today", "utcnow"})


@dataclass(frozen=True, slots=True)
class Edge:
    """One import: who, whom, and on which line."""

    module: str
    imported: str
    line: int

    def __str__(self) -> str:
        """Word the edge as a place that an editor can go to."""
        return f"{self.module}:{self.line} imports {self.imported}"


def edges(module: str, text: str) -> Iterator[Edge]:
    """Yield every import of a module, lazy and type-only ones included."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield Edge(module, alias.name, node.lineno)
        elif isinstance(node, ast.ImportFrom):
            yield from (Edge(module, name, node.lineno) for name in _sources(module, node))


def _sources(module: str, node: ast.ImportFrom) -> list[str]:
    """Return what an import from somewhere names; a package's own name stands for its members."""
    package = module.split(".")[: -node.level] if node.level else []
    whole = ".".join([*package, *([node.module] if node.module else [])])
    return [f"auditor.{alias.name}" for alias in node.names] if whole == "auditor" else [whole]


def part_of(module: str) -> str:
    """Return the part of the package that a module belongs to, such as ``rules``."""
    return [*module.split("."), "__init__"][1]


def is_allowed(edge: Edge) -> bool:
    """Say whether an import of ours goes the right way."""
    own, other = part_of(edge.module), part_of(edge.imported)
    if own == other or other in MAY_IMPORT[own] or edge.imported in EXCEPTIONS.get(own, ()):
        return True
    return other in _LEAVES


def modules() -> dict[str, str]:
    """Return the text of every module of the package, by name."""
    files = sorted((ROOT / "auditor").rglob("*.py"))
    return {_name(file.relative_to(ROOT)): file.read_text(encoding="utf-8") for file in files}


def _name(file: Path) -> str:
    parts = file.with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" and len(parts) > 2 else parts)


MODULES: Final = modules()
EDGES: Final = tuple(edge for name, text in MODULES.items() for edge in edges(name, text))


def of_the_core(module: str) -> bool:
    """Say whether a module belongs to the core."""
    return part_of(module) in _CORE


def test_every_part_of_the_package_has_its_place_in_the_architecture() -> None:
    """A new package is first given its arrows here, and in DESIGN.md."""
    assert {part_of(module) for module in MODULES} <= set(MAY_IMPORT)


def test_imports_go_one_way() -> None:
    """No module imports from above or beside it, however late it does so."""
    ours = [edge for edge in EDGES if edge.imported.split(".")[0] == "auditor"]
    assert [str(edge) for edge in ours if not is_allowed(edge)] == []


def test_no_submodule_imports_the_package_itself() -> None:
    """Names are imported from where they are made: the top only re-exports."""
    offending = [edge for edge in EDGES if edge.imported in {"auditor", "auditor.__init__"}]
    assert [str(edge) for edge in offending] == []
    through_the_top = [
        edge for edge in EDGES
        if edge.imported.startswith("auditor.") and edge.imported not in MODULES
    ]  # fmt: skip
    assert [str(edge) for edge in through_the_top] == []


def test_there_is_no_circle_of_modules() -> None:
    """Any module can be read after those that it imports."""
    imports = {
        name: {edge.imported for edge in EDGES if edge.module == name} & set(MODULES) for name in MODULES
    }
    left = dict(imports)
    while ready := [name for name, wanted in left.items() if not wanted & set(left)]:
        for name in ready:
            del left[name]
    assert left == {}


def test_nothing_of_ours_knows_of_networks_or_processes() -> None:
    """The tool is offline by its imports already; test_offline proves it at run time."""
    offending = [edge for edge in EDGES if edge.imported.split(".")[0] in NETWORK_AND_PROCESSES]
    assert [str(edge) for edge in offending] == []


def test_the_core_imports_nothing_impure() -> None:
    """Record, facts, rules and scoring reach no file, clock, environment, log or chance."""
    offending = [edge for edge in EDGES if of_the_core(edge.module) and edge.imported.split(".")[0] in IMPURE]
    assert [str(edge) for edge in offending] == []


def test_the_core_calls_nothing_impure() -> None:
    """It prints nothing, opens nothing and never asks the clock."""
    offending = [
        f"{module}:{call.lineno} calls {name}"
        for module, text in MODULES.items()
        if of_the_core(module)
        for call in ast.walk(ast.parse(text))
        if isinstance(call, ast.Call) and (name := _called(call)) in IMPURE_CALLS
    ]
    assert offending == []


def test_modules_are_imported_by_name_from_three_tables_only() -> None:
    """An import made from a text escapes the other tests: only these tables of names make any."""
    by_text = [
        module
        for module, text in MODULES.items()
        for call in ast.walk(ast.parse(text))
        if isinstance(call, ast.Call) and _called(call) in {"import_module", "__import__"}
    ]
    assert by_text == ["auditor.__init__", "auditor.cli.commands", "auditor.report.formats"]


def test_no_module_is_named_after_nothing() -> None:
    """One noun, one file: the listing is the table of contents."""
    vague = {"base", "common", "helpers", "manager", "misc", "util", "utils"}
    assert [module for module in MODULES if module.split(".")[-1] in vague] == []


def _called(call: ast.Call) -> str:
    function = call.func
    if isinstance(function, ast.Attribute):
        return function.attr
    return function.id if isinstance(function, ast.Name) else ""


@pytest.mark.parametrize(
    ("module", "text", "told"),
    [
        ("auditor.facts.x", "from auditor.rules.a import R", "auditor.facts.x:1 imports auditor.rules.a"),
        ("auditor.rules.x", "def f():\n    import auditor.cli.a", "auditor.rules.x:2 imports auditor.cli.a"),
        (
            "auditor.rules.x", "if TYPE_CHECKING:\n    from auditor.scoring.band import Band",
            "auditor.rules.x:2 imports auditor.scoring.band",
        ),
        ("auditor.record.x", "from ..facts.fact import F", "auditor.record.x:1 imports auditor.facts.fact"),
        ("auditor.report.x", "from auditor import audit", "auditor.report.x:1 imports auditor.audit"),
        ("auditor.intake.x", "from auditor.fleet.a import b", "auditor.intake.x:1 imports auditor.fleet.a"),
        ("auditor.report.x", "from auditor.cli import main", "auditor.report.x:1 imports auditor.cli"),
        ("auditor.facts.x", "import auditor", "auditor.facts.x:1 imports auditor"),
    ],
)  # fmt: skip
def test_a_wrong_import_is_seen_and_named(module: str, text: str, told: str) -> None:
    """The test above would tell of each of these: late, for types only, relative, or through the top."""
    assert [str(edge) for edge in edges(module, text) if not is_allowed(edge)] == [told]


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("auditor.rules.x", "from auditor.scoring.ccss import parse_vector"),
        ("auditor.scoring.x", "from auditor.rules.result import Outcome"),
        ("auditor.record.x", "from auditor.errors import Fault"),
        ("auditor.fleet.x", "from auditor.intake.records import read_records"),
        ("auditor.report.x", "from .writer import Writer"),
    ],
)
def test_a_right_import_is_let_through(module: str, text: str) -> None:
    """Downward, inside a part, or to the errors."""
    assert [edge for edge in edges(module, text) if not is_allowed(edge)] == []
