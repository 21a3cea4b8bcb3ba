"""A rule, ready to be evaluated; its file's form is described in `rulefile`."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from bmslint.judge.entry_names import entry_faults
from bmslint.judge.expression import SETTINGS_ROOTS, Expression, Reference
from bmslint.judge.faults import RuleError
from bmslint.judge.finding import Severity
from bmslint.judge.parameters import Parameter, fill_in, read_filled, unused
from bmslint.judge.template import Template, read_template

if TYPE_CHECKING:
    from bmslint.settings.places import Position


class Source(NamedTuple):
    """Where a rule's claim can be found, and how it is known."""

    title: str
    clause: str
    how: str


class Suggestion(NamedTuple):
    """A setting to change, and the expression of the value to try."""

    set: Template
    to: Expression


class Rule(NamedTuple):
    """One rule with its expressions and templates read.

    `references` are the paths of `needs`, `require`, `value` and `limit`: what the judgement rests on.
    Expressions and templates hold the values of `parameters` already.
    """

    id: str
    family: str
    file: str
    title: str
    severity: Severity
    references: tuple[Reference, ...]
    each: tuple[str, ...]
    applies: Expression | None
    require: Expression
    value: Expression | None
    limit: Expression | None
    unit: str
    at: Template
    also_at: tuple[Template, ...]
    says: Template
    why: str
    remedy: str
    suggest: tuple[Suggestion, ...]
    covers: tuple[str, ...]
    does_not_apply_to: str
    known_false_alarms: str
    sources: tuple[Source, ...]
    parameters: Mapping[str, Parameter]
    positions: Mapping[str, Position]

    def place(self, path: str) -> tuple[int, int]:
        """Find a value of the rule file.

        Args:
            path: a key of the rule file.

        Returns:
            Line and column, counted from 1.
        """
        position = self.positions.get(path) or self.positions[""]
        return position.line, position.column

    def expressions(self) -> dict[str, Expression]:
        """Give every expression.

        Returns:
            By the key of the rule file that it stands under.
        """
        found = {"applies": self.applies, "require": self.require, "value": self.value, "limit": self.limit}
        found |= {f"suggest[{i}].to": way.to for i, way in enumerate(self.suggest)}
        return {key: expression for key, expression in found.items() if expression is not None}

    def named(self) -> tuple[str, ...]:
        """Give every path that a judgement rests on.

        Returns:
            The paths of `references`, each once.
        """
        return tuple(dict.fromkeys(each.path for each in self.references))


T = TypeVar("T")

EACH_ROOTS = (*SETTINGS_ROOTS, "limits", "entries")
NOTHING_REPLACED: Mapping[str, float] = MappingProxyType({})
NEEDS_ROOTS = (*SETTINGS_ROOTS, "limits", "facts", "item")


class Faults:
    """Collects what is wrong with a rule, by the path of the key inside its file."""

    def __init__(self) -> None:
        """Start with nothing wrong."""
        self.found: list[tuple[str, RuleError]] = []

    def read(self, path: str, reader: Callable[[str], T], text: str, instead: T) -> T:
        """Read one text of a rule.

        Args:
            path: the key inside the rule file.
            reader: reads the text or raises RuleError.
            text: the text.
            instead: given in place of a text at fault.

        Returns:
            What the reader gives.
        """
        try:
            return reader(text)
        except RuleError as fault:
            self.found.append((path, fault))
            return instead


def build_rule(
    data: Mapping[str, Any],
    family: str,
    file: str,
    positions: Mapping[str, Position],
    faults: Faults,
    replaced: Mapping[str, float] = NOTHING_REPLACED,
) -> Rule:
    """Make a rule of the validated data of its file.

    Args:
        data: the mapping under `rule:` as its model describes it.
        family: the folder's name.
        file: the file, for messages.
        positions: the place of each value of the file, by path.
        faults: collects expressions and templates at fault.
        replaced: values in the place of those of its parameters, in their units.

    Returns:
        The rule; not to be used if faults were found.
    """
    nothing, empty = Expression("", ()), Template(("",), ())
    data = {key: value for key, value in data.items() if value is not None}
    parameters = {
        name: Parameter(replaced.get(name, one["value"]), one.get("unit", ""), one["means"], one["value"])
        for name, one in data.get("parameters", {}).items()
    }

    def expression(path: str, text: str) -> Expression:
        return faults.read(path, lambda text: read_filled(text, parameters), text, nothing)

    def given(key: str) -> Expression | None:
        return expression(key, data[key]) if key in data else None

    def template(path: str, text: str) -> Template:
        return faults.read(path, lambda text: fill_in(read_template(text), parameters), text, empty)

    patterns = data.get("each", [])
    each = (patterns,) if isinstance(patterns, str) else tuple(patterns)
    if "at" not in data and not each:
        faults.found.append(("", RuleError("a rule without `each` needs `at`")))
    for key, paths, roots in (("each", each, EACH_ROOTS), ("needs", data.get("needs", ()), NEEDS_ROOTS)):
        for path in paths:
            if path.split(".")[0].split("[")[0] not in roots:
                faults.found.append((key, RuleError(f"{path} does not begin with {_one_of(roots)}")))
    for name in unused(_texts(data), parameters) if parameters else ():
        faults.found.append((f"parameters.{name}", RuleError("no expression and no text names it")))
    needs = tuple(Reference(path, optional=False, iterated=False) for path in data.get("needs", ()))
    require, value, limit = expression("require", data["require"]), given("value"), given("limit")
    references = needs + tuple(ref for part in (require, value, limit) if part for ref in part.references)
    faults.found += entry_faults(each, "suggest" in data)
    return Rule(
        id=data["id"],
        family=family,
        file=file,
        title=data["title"],
        severity=data["severity"],
        references=references,
        each=each,
        applies=given("applies"),
        require=require,
        value=value,
        limit=limit,
        unit=data.get("unit", ""),
        at=template("at", data.get("at", "{here}")),
        also_at=tuple(template(f"also_at[{i}]", t) for i, t in enumerate(data.get("also_at", ()))),
        says=template("says", data["says"]),
        why=data["why"],
        remedy=data["remedy"],
        suggest=tuple(
            Suggestion(template(f"suggest[{i}].set", way["set"]), expression(f"suggest[{i}].to", way["to"]))
            for i, way in enumerate(data.get("suggest", ()))
        ),
        covers=tuple(data.get("covers", ())),
        does_not_apply_to=data.get("does_not_apply_to", ""),
        known_false_alarms=data.get("known_false_alarms", ""),
        sources=tuple(
            Source(one["title"], one.get("clause", ""), one["how"]) for one in data.get("sources", ())
        ),
        parameters=parameters,
        positions=positions,
    )


def _texts(data: Mapping[str, Any]) -> Iterator[str]:
    """Every expression and template of a rule."""
    yield from (data[key] for key in ("applies", "require", "value", "limit", "at", "says") if key in data)
    yield from data.get("also_at", ())
    yield from (text for way in data.get("suggest", ()) for text in way.values())


def _one_of(names: tuple[str, ...]) -> str:
    return f"{', '.join(names[:-1])} or {names[-1]}"
