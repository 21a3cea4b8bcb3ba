"""Every public docstring of physics and limits says all that a caller needs: one sentence, units, errors."""

import ast
import re

import pytest
from public_docstrings import Documented, decorators, parameters, public, raised

PACKAGES = ("bmslint/physics", "bmslint/limits")
ITEMS = [item for package in PACKAGES for item in public(package)]
# A name or a text that gives a unit, or says that there is none.
UNITS = (
    "K", "degC", "V", r"A(?= *(?:$|[,.;)]))", "Ah", "A h", "As", "A s", "A2s", "A2 s", "s", "h", "m", "ohm",
    "J", "W", "kg", "Pa", "days", "no unit", "dimensionless", "0 to 1", "numbers? of", "share", "weights?",
    "unit",
)  # fmt: skip
UNIT = re.compile(rf"(?<![A-Za-z'])(?:{'|'.join(UNITS)})(?![A-Za-z])")
MEASURED = re.compile(r"\b(?:float|Array|NDArray|Kelvin)\b")


def named(item: Documented) -> str:
    return item.key


def has_unit(name: str, text: str) -> bool:
    return bool(UNIT.search(name.replace("_per_", "_").replace("_", " ")) or UNIT.search(text))


@pytest.mark.parametrize("item", ITEMS, ids=named)
def test_it_begins_with_one_sentence(item: Documented) -> None:
    assert re.fullmatch(r"[A-Z].*[^.]\.", item.first)
    assert re.search(r"[.!?] [A-Z]", item.first) is None


@pytest.mark.parametrize("item", ITEMS, ids=named)
def test_every_parameter_is_told_with_its_unit(item: Documented) -> None:
    given = parameters(item)
    listed = item.listed("Args") | item.listed("Attributes")
    own = isinstance(item.node, ast.ClassDef) and bool(item.listed("Attributes"))
    # Of an error, what it carries is listed; what it is made from is the business of who raises it.
    assert list(listed) == list(given) or (own and "dataclass" not in decorators(item.node))
    without = {
        name for name, kind in given.items() if MEASURED.search(kind) and not has_unit(name, listed[name])
    }
    assert without == set()


@pytest.mark.parametrize("item", ITEMS, ids=named)
def test_what_comes_back_is_told_with_its_unit(item: Documented) -> None:
    node = item.node
    if isinstance(node, ast.ClassDef):
        assert "Returns" not in item.sections
        return
    assert node.returns is not None
    kind = ast.unparse(node.returns)
    if decorators(node) & {"property", "cached_property"}:
        told = item.first
    else:
        told = item.line("Returns")
        assert bool(told) == (kind != "None")
    if MEASURED.search(kind):
        assert has_unit(node.name, told)


@pytest.mark.parametrize("item", ITEMS, ids=named)
def test_every_error_that_it_raises_is_told(item: Documented) -> None:
    assert raised(item) <= item.listed("Raises").keys()


def test_there_is_something_to_hold() -> None:
    """The walk finds classes, their methods and functions of both packages."""
    keys = {item.key for item in ITEMS}
    assert {"physics.conduction.Block.after", "physics.voltage.at_rest_V", "limits.cell.Limits"} <= keys
