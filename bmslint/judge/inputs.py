"""What a rule is judged on: settings, limits, facts and entries under one set of paths."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import copy
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, NamedTuple

from bmslint.facts.quantity import BASES, Missing, Quantity
from bmslint.judge import engine
from bmslint.judge.expression import SETTINGS_ROOTS
from bmslint.judge.faults import RuleError
from bmslint.judge.paths import Nothing, joined, matches, walk

if TYPE_CHECKING:
    from bmslint.facts import Facts
    from bmslint.judge.expression import Expression
    from bmslint.limits import Limits


MOST_KEPT = 200
"""Items whose variables stay with the engine; a file that is not from a person may have any number."""


class Lacking(NamedTuple):
    """A path has no value because settings are missing."""

    paths: tuple[str, ...]


class Inapplicable(NamedTuple):
    """A path has no value, and no setting could give it one in this file."""

    reason: str


class Item(NamedTuple):
    """One match of a rule's `each`: value, last key, path."""

    value: Any
    key: str | float
    path: str

    def variables(self) -> dict[str, Any]:
        """Give the variables of an expression.

        Returns:
            `item`, `key` and `here`.
        """
        return {"item": self.value, "key": self.key, "here": self.path}


class Inputs:
    """Settings, limits and facts of one file."""

    def __init__(
        self,
        data: dict[str, Any],
        limits: Limits,
        facts: Facts,
        entries: Mapping[str, list[dict[str, Any]]] = MappingProxyType({}),
    ) -> None:
        """Keep the four.

        Args:
            data: validated settings.
            limits: what the cells may endure.
            facts: what was derived.
            entries: what is known of the file's own entries, by list; for the rules about them.
        """
        self.data = data
        self.limits = limits
        self.facts = facts
        self.entries = entries
        self.lacks: dict[object, Lacking | Inapplicable | None] = {}
        self._items: dict[str, tuple[Item, ...]] = {}
        self._resolved: dict[str, Any] = {}

    @cached_property
    def ranged(self) -> frozenset[str]:
        """The paths of facts with a range, and of groups that have one."""
        found = [
            (group, name)
            for group, facts in self.facts.groups.items()
            for name, each in facts.items()
            if isinstance(each, Quantity) and each.low != each.high
        ]
        return frozenset(f"facts.{group}.{name}" for group, name in found) | {
            f"facts.{group}" for group, _ in found
        }

    @cached_property
    def nominal(self) -> World:
        """The variables at nominal properties."""
        return World(self._variables(self.facts.nominal()))

    @cached_property
    def unfavourable(self) -> World:
        """The variables at the unfavourable end of the facts' ranges."""
        return World(self._variables(self.facts.unfavourable()))

    def worst_world(self, named: Iterable[str]) -> World:
        """Give the variables at the unfavourable end, those of one run where they come from several.

        Args:
            named: paths that a rule's condition names; the first fact with a range among them decides.

        Returns:
            The unfavourable variables, the group of that fact as it was in the run that is worst for it.
        """
        for path in named:
            if path in self.ranged:
                group, run = path.split(".")[1], self.facts.worst_run(path.removeprefix("facts."))
                if run:
                    return World(self._variables({**self.facts.unfavourable(), group: dict(run)}))
                break
        return self.unfavourable

    def asked_by(self, expression: Expression) -> Inputs:
        """Give the inputs that an expression needs.

        Args:
            expression: of a suggestion.

        Returns:
            These, or with them the facts that were left for later and that it names.
        """
        named = {reference.path.removeprefix("facts.") for reference in expression.references}
        if not named & self.facts.later.keys():
            return self
        return Inputs(self.data, self.limits, self.facts.with_later(named))

    def with_entries(self, entries: Mapping[str, list[dict[str, Any]]]) -> Inputs:
        """Add what is known of the file's own entries.

        Args:
            entries: by list, as `entry_names.ENTRIES` describes them.

        Returns:
            The inputs of the rules about entries; the variables that were made are kept, as no entry is
            among them.
        """
        other = copy(self)
        other.entries, other.lacks, other._items = entries, {}, {}
        return other

    def _variables(self, facts: dict[str, Any]) -> dict[str, Any]:
        sections = {root: self.data[root] for root in SETTINGS_ROOTS if root in self.data}
        return {"settings": self.data, "limits": self.limits.data, "facts": facts, **sections}

    def items(self, pattern: str) -> tuple[Item, ...]:
        """Find what a pattern of `each` names.

        Args:
            pattern: a path with wildcards.

        Returns:
            Its matches in file order; the same objects for every rule.
        """
        if pattern not in self._items:
            roots = {**self.data, "limits": self.limits.data, "entries": self.entries}
            self._items[pattern] = tuple(
                Item(value, key, path) for path, key, value in matches(roots, pattern)
            )
        return self._items[pattern]

    def resolve(self, path: str, item: Item | None) -> Any | Lacking | Inapplicable:
        """Look up a path that a rule names.

        Args:
            path: the path; below `item` if the rule has `each`.
            item: the match that the rule is evaluated for.

        Returns:
            The value, or why there is none.

        Raises:
            RuleError: the path names a fact that is not among those derived.
        """
        root, _, rest = path.partition(".")
        if root == "entries":
            return self.entries[rest]
        if item is not None and root.split("[")[0] == "item":
            tail = path.removeprefix("item").removeprefix(".")
            where = item.path + tail if tail.startswith("[") else joined(item.path, tail)
            return self._setting(walk(item.value, tail), where, item.path)
        if path not in self._resolved:  # many rules name the same paths
            self._resolved[path] = self._looked_up(path, root, rest)
        return self._resolved[path]

    def _looked_up(self, path: str, root: str, rest: str) -> Any | Lacking | Inapplicable:
        if root == "facts":
            return self._fact(rest)
        if root == "limits":
            value = walk(self.limits.data, rest)
            return self._limit(rest) if isinstance(value, Nothing) else value
        return self._setting(walk(self.data, path), path, "")

    def _setting(self, value: Any, where: str, none_at: str) -> Any | Lacking | Inapplicable:
        """Give a value that was looked for, or why it is not there."""
        if not isinstance(value, Nothing):
            return value
        if where.startswith("limits."):
            return self._limit(where.removeprefix("limits."))
        if value.none_at is None:
            return Lacking((where,))
        return Inapplicable(f"{'.'.join(part for part in (none_at, value.none_at) if part)} is none")

    def _entries(self, path: str) -> list[Quantity | Missing]:
        """The facts that a path below `facts` names: one, or all of a group."""
        group, _, name = path.partition(".")
        entries = self.facts.groups.get(group, {})
        if name:
            return [entries[name]] if name in entries else []
        return list(entries.values())

    def _quantities(self, path: str) -> list[Quantity]:
        return [each for each in self._entries(path) if isinstance(each, Quantity)]

    def _fact(self, path: str) -> Any | Lacking | Inapplicable:
        quantities = self._quantities(path)
        if quantities:
            return quantities[0].value
        missing = [each for each in self._entries(path) if isinstance(each, Missing)]
        if not missing:
            raise RuleError(f"there is no fact {path}")
        paths = dict.fromkeys(path for each in missing for path in each.paths)
        return Lacking(tuple(paths)) if paths else Inapplicable(missing[0].reason)

    def _limit(self, path: str) -> Lacking | Inapplicable:
        for known, paths in self.limits.missing.items():
            if _inside(path, known) or _inside(known, path):
                return Lacking(tuple(paths))
        return Inapplicable(f"no limit {path} is known for these cells")

    def assumed(self, path: str) -> tuple[str, ...]:
        """Name the defaults that a fact rests on.

        Args:
            path: a path that a rule names.

        Returns:
            Names of default properties; none for settings and limits.
        """
        root, _, rest = path.partition(".")
        quantities = self._quantities(rest) if root == "facts" else []
        return tuple(dict.fromkeys(name for each in quantities for name in each.assumed))

    def basis(self, path: str) -> str:
        """Say what the value at a path rests on.

        Args:
            path: a path that a rule names.

        Returns:
            One of `bmslint.facts.BASES`.
        """
        root, _, rest = path.partition(".")
        if root == "facts":
            return weakest(each.basis for each in self._quantities(rest))
        if root == "limits":
            return weakest(
                source.basis
                for known, source in self.limits.sources.items()
                if _inside(known, rest) or _inside(rest, known)
            )
        return "declared"

    def unverified(self, path: str) -> tuple[str, ...]:
        """Name the unverified rows of the chemistry table that a path takes its value from.

        Args:
            path: a path that a rule names.

        Returns:
            The rows' titles; none for settings and facts, for verified limits and the cell maker's own.
        """
        root, _, rest = path.partition(".")
        return tuple(
            source.title
            for known, source in (self.limits.sources.items() if root == "limits" else ())
            if source.how == "unverified" and (_inside(known, rest) or _inside(rest, known))
        )


def _inside(path: str, outer: str) -> bool:
    return path == outer or path.startswith((outer + ".", outer + "["))


def weakest(bases: Iterable[str]) -> str:
    """Give the weakest of several bases.

    Args:
        bases: words of `bmslint.facts.BASES`.

    Returns:
        The weakest; "declared" if there is none, as a rule without other inputs rests on the file.
    """
    return min(bases, key=BASES.index, default="declared")


class World:
    """Variables at one end of the facts' ranges, handed to the engine once for each item."""

    def __init__(self, variables: Mapping[str, Any]) -> None:
        """Keep the variables.

        Args:
            variables: by name.
        """
        self.variables = variables
        self._plain: engine.Values | None = None
        self._of_items: dict[str, tuple[Item, engine.Values]] = {}

    def values(self, item: Item | None) -> engine.Values:
        """Give the variables in the engine's form.

        Args:
            item: the match that a rule is evaluated for.

        Returns:
            The values.
        """
        if item is None:
            if self._plain is None:
                self._plain = engine.values(self.variables)
            return self._plain
        known, values = self._of_items.get(item.path, (None, None))
        if known is not item or values is None:
            values = engine.values({**self.variables, **item.variables()})
            if len(self._of_items) < MOST_KEPT:
                self._of_items[item.path] = item, values
        return values

    def look_up(self, path: str, extra: Mapping[str, Any]) -> object:
        """Look up a path of a template.

        Args:
            path: the path.
            extra: `value`, `limit` and an item's variables.

        Returns:
            The value, None if there is none.
        """
        root = path.split(".")[0].split("[")[0]
        if root in extra or root in self.variables:
            found = walk(extra if root in extra else self.variables, path)
        else:
            found = walk(self.variables["settings"], path)
        return None if isinstance(found, Nothing) else found
