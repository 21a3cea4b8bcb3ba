"""The page of relations is current and whole, and names only tests that exist."""

import ast
import re

from outside_checks import GROUPS, HELD, NO_RELATION
from public_docstrings import ROOT, Documented, modules, names_of_tests, public
from write import PAGE, page, relations

from bmslint.facts.names import FACT_NAMES


def owed(item: Documented) -> bool:
    """Whether a public name of physics owes a source: all but methods, which may rest on their class."""
    return "." not in item.name


def test_the_page_is_what_is_generated() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), "run: python tests/relations/write.py"


def test_every_public_name_of_physics_states_validity_and_source() -> None:
    lacking = {
        item.key
        for item in public("bmslint/physics")
        if owed(item) and not (item.line("Validity") and item.line("Source"))
    }
    assert lacking == set()


def test_every_module_of_facts_states_its_relation_or_has_none() -> None:
    stated = {item.key for item in modules("bmslint/facts") if item.line("Validity") and item.line("Source")}
    every = {item.key for item in modules("bmslint/facts")} - {"facts.__init__"}
    assert every - stated == set(NO_RELATION)


def test_every_relation_has_a_row_and_every_row_a_relation() -> None:
    assert {item.key for item in relations()} == set(HELD)
    assert {key for rests in GROUPS.values() for key in rests} <= set(HELD)


def test_every_relation_is_held_from_outside_and_at_a_limit() -> None:
    assert {key for key, held in HELD.items() if not (held.outside and held.limit)} == set()


def test_every_group_of_facts_says_what_it_rests_on() -> None:
    assert list(GROUPS) == list(FACT_NAMES)


def test_what_a_fact_module_imports_from_physics_a_group_rests_on() -> None:
    """Read off the imports, so that a relation that comes into use is named by some group."""
    known = {item.key: item for item in relations()}
    used = {
        f"physics.{node.module.rpartition('.')[2]}.{name.name}"
        for module in modules("bmslint/facts")
        for node in ast.walk(module.module)
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("bmslint.physics.")
        for name in node.names
    }
    functions = {key for key in used & set(known) if isinstance(known[key].node, ast.FunctionDef)}
    rested = {key for rests in GROUPS.values() for key in rests}
    # What `facts.pack` and `facts.sensors` call stands under these.
    within = {
        "physics.round_cells.square_array_W_per_mK", "physics.surfaces.radiation_W_per_m2K",
        "physics.surfaces.series_W_per_m2K", "physics.axis.homogenised",
        "physics.resistance.activation_J_per_mol",
    }  # fmt: skip
    assert functions - rested == within


def test_every_test_file_that_the_package_names_exists() -> None:
    """In docstrings and comments; DEVELOPERS.md is held by tests/test_documents.py."""
    named = {
        name
        for file in (ROOT / "bmslint").rglob("*.py")
        for name in re.findall(r"tests/[\w/]+\.py", file.read_text(encoding="utf-8"))
    }
    assert {name for name in named if not (ROOT / name).is_file()} == set()
    assert "tests/physics/test_grid.py" in named


def test_every_test_that_is_named_exists() -> None:
    """Collected by syntax, not by running."""
    named = {test for held in HELD.values() for test, _ in (*held.outside, *held.limit, *held.otherwise)}
    files = {name.partition("::")[0] for name in named}
    there = {f"{file}::{test}" for file in files for test in names_of_tests(ROOT / "tests" / file)}
    assert named - there == set()
