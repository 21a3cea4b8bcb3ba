"""Which room may import which, and what a check may not import; read from the source and from a run."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import bmslint

PACKAGE = Path(bmslint.__file__).parent

ALLOWED = {
    "settings": set(),
    "limits": {"settings", "data"},
    "physics": set(),
    "facts": {"settings", "limits", "physics"},
    "judge": {"settings", "limits", "facts", "data"},
    "gate": {"settings", "limits", "facts", "judge", "data", ""},
    "output": {"judge", "facts", "gate", ""},
    "data": set(),
    "commands": {"settings", "limits", "facts", "judge", "gate", "output", ""},
    "cli": {"commands", ""},
}
"""By room, the rooms that it may import besides itself; "" is the package's own module (its version)."""

PUBLIC = {
    "Facts",
    "Finding",
    "Verdict",
    "__version__",
    "derive_facts",
    "judge_document",
    "judge_files",
    "load_pack",
    "read",
    "read_text",
}


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported_rooms(path: Path) -> set[str]:
    """Every room of the package that a module imports, at the top or inside a function."""
    modules: list[str] = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            modules += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path} has a relative import"
            home = node.module or ""
            modules += [f"{home}.{alias.name}" for alias in node.names] if home == "bmslint" else [home]
    inside = [name.split(".") for name in modules if name.split(".")[0] == "bmslint"]
    rooms = {parts[1] if len(parts) > 1 else "" for parts in inside}
    return {"" if room.startswith("__") else room for room in rooms}


MODULES = sorted(path for path in PACKAGE.rglob("*.py") if path != PACKAGE / "__init__.py")


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_rooms_import_only_what_flows_to_them(path: Path) -> None:
    room = room_of(path)
    assert imported_rooms(path) - {room} <= ALLOWED[room]


def test_only_one_module_imports_the_expression_engine() -> None:
    importing = [
        str(path.relative_to(PACKAGE))
        for path in MODULES
        if "cel_expr_python" in {name.split(".")[0] for name in _imports(path)}
    ]
    assert importing == ["judge/engine.py"]


def _imports(path: Path) -> list[str]:
    names: list[str] = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.append(node.module)
    return names


def loaded_by(code: str) -> set[str]:
    """Top-level modules that a fresh interpreter has after running code."""
    told = "import sys; print(*{name.split('.')[0] for name in sys.modules})"
    run = subprocess.run(
        [sys.executable, "-c", f"{code}\n{told}"], capture_output=True, text=True, check=True, timeout=60
    )
    return set(run.stdout.splitlines()[-1].split())


HEAVY = {"pydantic", "numpy", "rich", "cel_expr_python", "ruamel", "pydantic_core", "jsonschema", "scipy"}


def test_importing_the_package_or_the_commands_loads_nothing_heavy() -> None:
    assert loaded_by("import bmslint") & HEAVY == set()
    assert loaded_by("import bmslint.cli") & HEAVY == set()


@pytest.mark.parametrize("form", ["text", "json"])
def test_a_check_imports_neither_pydantic_nor_rich(form: str) -> None:
    profile = PACKAGE.parent / "profiles" / "ridge-hut.yaml"
    code = f"from bmslint.cli import main; main(['check', {str(profile)!r}, '--format', {form!r}])"
    assert loaded_by(code) & HEAVY == {"numpy", "cel_expr_python", "ruamel", "pydantic_core"}


def test_facts_do_not_import_pydantic_or_the_engine() -> None:
    profile = PACKAGE.parent / "profiles" / "ridge-hut.yaml"
    code = f"from bmslint.cli import main; main(['facts', {str(profile)!r}])"
    assert loaded_by(code) & HEAVY == {"numpy", "ruamel", "pydantic_core"}


def test_the_public_surface_is_exact() -> None:
    assert set(bmslint.__all__) == PUBLIC
    assert dir(bmslint) == sorted(PUBLIC)
    assert {name for name in PUBLIC if not hasattr(bmslint, name)} == set()
    with pytest.raises(AttributeError, match="module 'bmslint' has no attribute 'nothing'"):
        _ = bmslint.nothing  # type: ignore[attr-defined]
