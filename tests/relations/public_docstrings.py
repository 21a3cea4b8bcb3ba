"""Reads the public functions and classes of a package with what their docstrings state, by ast alone."""

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from bmslint.data import rules_dir

ROOT = rules_dir().parent
# Sections that list names, and those that are a text of their own.
LISTS, TEXTS = ("Args", "Attributes", "Raises"), ("Returns", "Validity", "Source")

Definition = ast.FunctionDef | ast.ClassDef


@dataclass(frozen=True)
class Documented:
    """A module, class or function with its docstring.

    Args:
        path: file, from the root of the repository.
        name: dotted name inside the file; empty for the module itself.
        node: its syntax tree.
        module: the tree of the whole file.
    """

    path: str
    name: str
    node: Definition | ast.Module
    module: ast.Module

    @property
    def key(self) -> str:
        """What the relation is called on the page: `physics.voltage.at_rest_V`."""
        stem = self.path.removeprefix("bmslint/").removesuffix(".py").replace("/", ".")
        return f"{stem}.{self.name}" if self.name else stem

    @cached_property
    def text(self) -> str:
        return ast.get_docstring(self.node) or ""

    @property
    def first(self) -> str:
        """The first paragraph, as one line."""
        return " ".join(self.text.split("\n\n")[0].split())

    @cached_property
    def sections(self) -> dict[str, str]:
        """Each section's text with its lines and indents, by its title."""
        heads = "|".join((*LISTS, *TEXTS))
        parts = re.split(rf"^({heads}):", self.text, flags=re.MULTILINE)
        return {title: _body(body) for title, body in zip(parts[1::2], parts[2::2], strict=True)}

    def line(self, section: str) -> str:
        """A section as one line."""
        return " ".join(self.sections.get(section, "").split())

    def listed(self, section: str) -> dict[str, str]:
        """The names that a section lists, each with its text."""
        text = self.sections.get(section, "").strip("\n")
        indent = re.match(r" *", text)
        assert indent is not None
        parts = re.split(rf"^{indent[0]}\*{{0,2}}(\w+):", text, flags=re.MULTILINE)
        return {name: " ".join(body.split()) for name, body in zip(parts[1::2], parts[2::2], strict=True)}


def _body(text: str) -> str:
    """Cut a section off where a line stands at the margin after an empty one: prose that goes on."""
    return re.split(r"\n\n(?=\S)", text)[0]


def modules(package: str) -> Iterator[Documented]:
    """Read every module of a package, sorted by file."""
    for file in sorted((ROOT / package).glob("*.py")):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        yield Documented(file.relative_to(ROOT).as_posix(), "", tree, tree)


def public(package: str) -> Iterator[Documented]:
    """Read every public class, function and method of a package, in the order of the files."""
    for module in modules(package):
        yield from _inside(module, module.module.body, "")


def _inside(module: Documented, body: list[ast.stmt], prefix: str) -> Iterator[Documented]:
    for node in body:
        if not isinstance(node, ast.FunctionDef | ast.ClassDef) or node.name.startswith("_"):
            continue
        if "overload" in decorators(node):
            continue
        yield Documented(module.path, prefix + node.name, node, module.module)
        if isinstance(node, ast.ClassDef):
            yield from _inside(module, node.body, f"{node.name}.")


def decorators(node: Definition) -> set[str]:
    """Name what decorates a definition, calls by what is called."""
    found = (each.func if isinstance(each, ast.Call) else each for each in node.decorator_list)
    return {ast.unparse(each).split(".")[-1] for each in found}


def parameters(item: Documented) -> dict[str, str]:
    """Give what a definition is called with and the annotation of each; the fields of a dataclass too."""
    node = item.node
    if isinstance(node, ast.ClassDef):
        if "dataclass" in decorators(node):
            return {
                each.target.id: ast.unparse(each.annotation)
                for each in node.body
                if isinstance(each, ast.AnnAssign) and isinstance(each.target, ast.Name)
            }
        made = [each for each in node.body if isinstance(each, ast.FunctionDef) and each.name == "__init__"]
        return _arguments(made[0]) if made else {}
    assert isinstance(node, ast.FunctionDef)
    return {} if decorators(node) & {"property", "cached_property"} else _arguments(node)


def _arguments(node: ast.FunctionDef) -> dict[str, str]:
    given = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
    if node.args.vararg:
        given.append(node.args.vararg)
    return {
        each.arg: ast.unparse(each.annotation) if each.annotation else ""
        for each in given
        if each.arg not in ("self", "cls")
    }


def raised(item: Documented) -> set[str]:
    """Name the errors that a function raises itself, or through private functions of its module."""
    if not isinstance(item.node, ast.FunctionDef):
        return set()
    private = {each.name: each for each in item.module.body if isinstance(each, ast.FunctionDef)}
    found, seen, waiting = set(), set(), [item.node]
    while waiting:
        node = waiting.pop()
        seen.add(node.name)
        for each in ast.walk(node):
            if isinstance(each, ast.Raise) and isinstance(each.exc, ast.Call):
                found.add(ast.unparse(each.exc.func))
            if isinstance(each, ast.Call) and isinstance(each.func, ast.Name):
                called = private.get(each.func.id)
                if called is not None and called.name not in seen:
                    waiting.append(called)
    return found


def names_of_tests(file: Path) -> set[str]:
    """Name the tests of a file without importing it."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    return {
        each.name for each in tree.body if isinstance(each, ast.FunctionDef) and each.name.startswith("test_")
    }
