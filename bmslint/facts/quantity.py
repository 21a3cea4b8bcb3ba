"""What a derived quantity is, and how a set of them is handed on.

Named tuples, not dataclasses: a dataclass takes six times as long to build at import and three times as
long to make one of.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from math import ceil
from types import MappingProxyType
from typing import Literal, NamedTuple

Value = float | bool | str

BASES = ("default", "chemistry table", "cell maker", "declared", "measured")
"""How well a value is known, weakest first."""


class Quantity(NamedTuple):
    """One derived value with its range.

    Args:
        value: at nominal properties, in `unit`.
        low: smallest over the corners of the properties' ranges, in `unit`.
        high: largest over the corners, in `unit`.
        unit: `degC`, `K`, `s`, ...; empty for a word or a truth value.
        basis: the weakest of `BASES` that the value rests on.
        worse: which end of the range is unfavourable; None where the range has no bad end.
        assumed: names of the defaults that were used.
    """

    value: Value
    low: Value
    high: Value
    unit: str
    basis: str
    worse: Literal["low", "high"] | None
    assumed: tuple[str, ...] = ()

    @property
    def unfavourable(self) -> Value:
        """The value at the unfavourable end of the range."""
        return self.value if self.worse is None else self.low if self.worse == "low" else self.high


class Missing(NamedTuple):
    """A quantity that could not be derived.

    Args:
        paths: settings that would let it be derived; empty where this pack does not have it.
        reason: why, for a person.
    """

    paths: tuple[str, ...]
    reason: str


Group = Mapping[str, Quantity | Missing]


class Ranged(dict[str, Quantity | Missing]):
    """A group whose ranges are spanned by runs.

    Args:
        facts: the group's facts.
        runs: for each run the values of the facts that are defined in it.
    """

    def __init__(self, facts: Group, runs: Sequence[Mapping[str, Value]]) -> None:
        super().__init__(facts)
        self.runs = runs


class Facts(NamedTuple):
    """Every derived quantity of one pack, by group and name.

    Args:
        groups: the facts.
        later: facts that cost so much that they are derived only when asked for, by `group.name`.
    """

    groups: Mapping[str, Group]
    later: Mapping[str, Callable[[], Quantity | Missing]] = MappingProxyType({})

    def with_later(self, paths: Iterable[str]) -> "Facts":
        """Derive facts that were left for later.

        Args:
            paths: their paths, `group.name`; others are passed over.

        Returns:
            The facts with these among them.
        """
        groups = dict(self.groups)
        for path in sorted(set(paths) & self.later.keys()):
            group, _, name = path.partition(".")
            groups[group] = {**groups.get(group, {}), name: self.later[path]()}
        return Facts(groups, {path: run for path, run in self.later.items() if path not in set(paths)})

    def nominal(self) -> dict[str, dict[str, Value]]:
        """Give the values at nominal properties, without what is missing."""
        return {
            group: {name: item.value for name, item in items.items() if isinstance(item, Quantity)}
            for group, items in self.groups.items()
        }

    def unfavourable(self) -> dict[str, dict[str, Value]]:
        """Give the values at the unfavourable end of each range, without what is missing."""
        return {
            group: {name: item.unfavourable for name, item in items.items() if isinstance(item, Quantity)}
            for group, items in self.groups.items()
        }

    def worst_run(self, path: str) -> Mapping[str, Value]:
        """Give the values of the one run that the unfavourable end of a fact comes from.

        Args:
            path: the fact, `group.name`.

        Returns:
            The run's values by name, so that what is told together happened together; empty where the
            group has no runs.
        """
        name, group = path.partition(".")[2], self.groups.get(path.partition(".")[0], {})
        fact = group.get(name)
        if not isinstance(group, Ranged) or not isinstance(fact, Quantity):
            return {}
        return next((run for run in group.runs if run.get(name) == fact.unfavourable), {})

    def find(self, path: str) -> Quantity | Missing | None:
        """Look up `group.name`; None if there is no such fact."""
        group, _, name = path.partition(".")
        return self.groups.get(group, {}).get(name)


def rounded_up(value: float, step: float) -> float:
    """Round a setting up to the next step, so that it stays safe; a millionth of a step is not counted."""
    return ceil(value / step - 1e-6) * step
