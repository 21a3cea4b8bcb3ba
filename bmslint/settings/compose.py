"""Composes nodes from the events of the C parser, and refuses what is too deep or too much.

Composed here and not by the C composer of the same package: that one took 0.97 ms on the 109
lines of the complete example, against 0.69 ms for the bare events, makes no use of limits on the
way, and ends the process with a segmentation fault on 200,000 opening brackets, because it calls
itself once for every level.
"""

from typing import Any

from ruamel.yaml.events import (
    AliasEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from bmslint.settings.places import Position, Problem, cut, problem_at

MAX_DEPTH = 40
MAX_NODES = 100_000


class RefusedError(Exception):
    """Reading cannot go on."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.message)
        self.problem = problem


class Node:
    """A part of the document as composed: a scalar, a mapping, a list, or an alias of one."""

    __slots__ = ("column", "items", "kind", "line", "plain", "tag")

    def __init__(self, event: Any, kind: str, items: Any) -> None:
        mark = event.start_mark
        self.kind = kind
        self.items = items
        self.line = mark.line + 1
        self.column = mark.column + 1
        self.plain = True
        self.tag: str | None = None


def compose(get_event: Any, name: str) -> Node:
    """Compose the nodes of one document, after its start event.

    Args:
        get_event: Gives the next event of the parser.
        name: Name of the file.

    Returns:
        The node of the whole document.

    Raises:
        RefusedError: for too deep nesting, too many nodes, and aliases that lead nowhere or to
            what they stand in.
    """
    top = Node.__new__(Node)
    top.items = []
    stack = [top]
    items = top.items
    anchors: dict[str, Node] = {}
    count = 0
    while not (len(stack) == 1 and items):
        event = get_event()
        kind = type(event)
        if kind is MappingEndEvent or kind is SequenceEndEvent:
            stack.pop()
            items = stack[-1].items
            continue
        count += 1
        if kind is ScalarEvent:
            node = Node(event, "scalar", event.value)
            node.plain = event.implicit[0]
        elif kind is AliasEvent:
            node = Node(event, "alias", _target(event, anchors, stack, name))
        else:
            node = Node(event, "mapping" if kind is MappingStartEvent else "list", [])
        items.append(node)
        if kind is not AliasEvent:
            node.tag = event.tag
            if event.anchor:
                anchors[event.anchor] = node
        if kind is MappingStartEvent or kind is SequenceStartEvent:
            stack.append(node)
            items = node.items
            if len(stack) > MAX_DEPTH + 1:
                raise RefusedError(too_deep(node, name))
        if count > MAX_NODES:
            raise RefusedError(too_many(node, name))
    found: Node = top.items[0]
    return found


def _target(event: Any, anchors: dict[str, Node], stack: list[Node], name: str) -> Node:
    mark = event.start_mark
    place = Position(name, mark.line + 1, mark.column + 1)
    target = anchors.get(event.anchor)
    came = f"*{cut(event.anchor)}"
    if target is None:
        advice = f"write &{cut(event.anchor)} before the value it stands for"
        raise RefusedError(problem_at(place, "", "an alias of an anchor above it", came, advice))
    if any(node is target for node in stack):
        advice = "write the value out"
        came += ", which stands inside its own anchor"
        raise RefusedError(problem_at(place, "", "a value that does not hold itself", came, advice))
    return target


def too_deep(node: Node, name: str) -> Problem:
    """Give the problem of a node below too many levels.

    Args:
        node: The node.
        name: Name of the file.

    Returns:
        The problem.
    """
    place = Position(name, node.line, node.column)
    expected = f"at most {MAX_DEPTH} levels of nesting"
    return problem_at(place, "", expected, "more", "is it the right file?")


def too_many(node: Node, name: str) -> Problem:
    """Give the problem of a node that is one too many.

    Args:
        node: The node.
        name: Name of the file.

    Returns:
        The problem.
    """
    place = Position(name, node.line, node.column)
    expected = f"at most {MAX_NODES} keys and values, aliases written out"
    return problem_at(place, "", expected, "more", "write values out instead of nesting aliases")
