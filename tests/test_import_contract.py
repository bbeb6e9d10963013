"""The rooms of the house: imports run downwards, the screens' library and SQL stay in theirs."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SOURCES = sorted(
    path for folder in ("logbook", "seed_db") for path in (ROOT / folder).rglob("*.py")
)
STORE = ROOT / "logbook" / "store"

_CALLS = {"execute", "executemany", "executescript", "cursor"}
# A statement as it would be sent: an upper-case verb and what must follow it.
_SQL = re.compile(
    r"^\s*(SELECT\s.+\sFROM\s|INSERT\s+(OR\s+\w+\s+)?INTO\s|UPDATE\s.+\sSET\s|DELETE\s+FROM\s"
    r"|CREATE\s+(TABLE|VIEW|INDEX|TRIGGER|VIRTUAL)\s|DROP\s|ALTER\s+TABLE\s|PRAGMA\s|BEGIN\b)",
    re.DOTALL,
)


def test_imports_run_downwards() -> None:
    """The contracts of ``pyproject.toml``, as import-linter sees them."""
    program = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    ended = subprocess.run(
        [sys.executable, "-c", program, "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 0, ended.stdout


def test_every_room_has_its_place_in_the_layers() -> None:
    """A new room that the contract does not know would be under no rule."""
    with (ROOT / "pyproject.toml").open("rb") as file:
        contracts = tomllib.load(file)["tool"]["importlinter"]["contracts"]
    layers = next(one["layers"] for one in contracts if one["type"] == "layers")
    placed = {name.strip() for layer in layers for name in layer.split("|")}
    rooms = {
        f"logbook.{path.stem}"
        for path in (ROOT / "logbook").iterdir()
        if not path.name.startswith("__") and (path.suffix == ".py" or path.is_dir())
    }
    assert rooms | {"seed_db"} == placed


def _nodes(path: Path) -> Iterator[ast.AST]:
    return ast.walk(ast.parse(path.read_text(encoding="utf-8")))


def _sql(path: Path) -> Iterator[str]:
    """Where a file calls a database cursor or holds a statement."""
    for node in _nodes(path):
        match node:
            case ast.Call(func=ast.Attribute(attr=name)) if name in _CALLS:
                yield f"{path.relative_to(ROOT)}:{node.lineno} .{name}()"
            case ast.Constant(value=str(text)) if _SQL.match(text):
                yield f"{path.relative_to(ROOT)}:{node.lineno} {text.strip()[:40]!r}"


def _swallowed(path: Path) -> Iterator[str]:
    """Where a file catches everything, or catches broadly and goes on as if nothing were."""
    for node in _nodes(path):
        match node:
            case (
                ast.ExceptHandler(type=None)
                | ast.ExceptHandler(
                    type=ast.Name(id="Exception" | "BaseException"), body=[ast.Pass()]
                )
            ):
                yield f"{path.relative_to(ROOT)}:{node.lineno}"


def test_sql_stays_in_the_store() -> None:
    assert [found for path in SOURCES if STORE not in path.parents for found in _sql(path)] == []


def test_the_search_for_sql_finds_it() -> None:
    assert any(list(_sql(path)) for path in STORE.glob("*.py"))


def test_no_error_is_swallowed() -> None:
    assert [found for path in SOURCES for found in _swallowed(path)] == []


def test_no_file_is_understood_only_together_with_one_above_it() -> None:
    """No circles: imports for types and within functions count, too."""
    files = {_module(path): path for path in SOURCES}
    below = {name: _imported(path, files) - {name} for name, path in files.items()}
    while lowest := {name for name, others in below.items() if not others & below.keys()}:
        for name in lowest:
            del below[name]
    assert not below, f"a circle among {sorted(below)}"


def _module(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _imported(path: Path, files: Mapping[str, Path]) -> set[str]:
    """The modules that a file imports, or imports names from."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                found.add(whole if whole in files else node.module)
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
    return found & files.keys()
