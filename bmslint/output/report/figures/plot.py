"""A figure with its words, and the axes, lines and labels that drawings over two axes share."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from bmslint.output.report.markup import Markup, joined, number, tag
from bmslint.output.report.scale import Scale, round_steps, spread

WIDTH = 400.0
"""Width of every drawing; text of 13 units stays readable on a phone and does not shout on a desk."""
LINE_HEIGHT = 16.0

Points = Sequence[tuple[float, float]]


class Label(NamedTuple):
    """A text beside a drawing's right edge that belongs to a place; `kind` is the class of its line."""

    place: float
    text: str
    kind: str


def figure(
    name: str,
    title: str,
    told: str,
    drawing: Sequence[Markup],
    height: float,
    caption: Sequence[Markup | str],
) -> Markup:
    """Put a drawing between its words.

    Args:
        name: id of the figure on the page.
        title: what the drawing is.
        told: the same in words, for who cannot see it.
        drawing: its elements, in a frame `WIDTH` wide.
        height: height of the frame.
        caption: what a reader needs to know to read it.

    Returns:
        The figure.
    """
    picture = tag(
        "svg",
        tag("title", title, id=f"{name}-title"),
        tag("desc", told, id=f"{name}-told"),
        drawing,
        viewBox=f"0 0 {number(WIDTH)} {number(height)}",
        role="img",
        aria_labelledby=f"{name}-title",
        aria_describedby=f"{name}-told",
    )
    head = tag("span", title, class_="figure-title")
    return tag("figure", picture, tag("figcaption", head, " ", *caption), id=name)


def axes(x: Scale, y: Scale, x_name: str, y_name: str) -> Markup:
    """Draw two axes with round steps, a fine line across at each.

    Args:
        x: scale from left to right.
        y: scale from the bottom up.
        x_name: what runs along x, with its unit.
        y_name: what runs along y, with its unit.

    Returns:
        The axes.
    """
    parts = []
    for value in round_steps(y.low, y.high, 6):
        at = y.at(value)
        parts.append(line([(x.start, at), (x.end, at)], "grid"))
        parts.append(words(x.start - 6, at + 4, _plain(value), "tick", "end"))
    for value in round_steps(x.low, x.high, 6):
        at = x.at(value)
        parts.append(line([(at, y.start), (at, y.start + 5)], "axis"))
        parts.append(words(at, y.start + 18, _plain(value), "tick", "middle"))
    parts.append(line([(x.start, y.start), (x.end, y.start)], "axis"))
    parts.append(words((x.start + x.end) / 2, y.start + 34, x_name, "axis-name", "middle"))
    parts.append(words(4.0, y.end - 10, y_name, "axis-name", "start"))
    return joined(parts)


def line(points: Points, kind: str) -> Markup:
    """Draw a line through points.

    Args:
        points: places in the drawing.
        kind: its class.

    Returns:
        The line.
    """
    return tag("polyline", points=" ".join(f"{number(x)},{number(y)}" for x, y in points), class_=kind)


def area(points: Points, kind: str) -> Markup:
    """Fill a shape.

    Args:
        points: its corners in the drawing.
        kind: its class.

    Returns:
        The shape.
    """
    return tag("polygon", points=" ".join(f"{number(x)},{number(y)}" for x, y in points), class_=kind)


def words(x: float, y: float, text: str, kind: str, anchor: str = "start") -> Markup:
    """Write a text into a drawing.

    Args:
        x: place of its start, middle or end.
        y: its base line.
        text: the text.
        kind: its class.
        anchor: what of it stands at `x`: `start`, `middle` or `end`.

    Returns:
        The text.
    """
    return tag("text", text, x=x, y=y, class_=kind, text_anchor=None if anchor == "start" else anchor)


def named(labels: Sequence[Label], x: float, low: float, high: float) -> Markup:
    """Name lines where they end, each name beside its line or led to it.

    Args:
        labels: the names.
        x: the right edge of the drawing, where the lines end.
        low: highest place for a name (places grow downwards).
        high: lowest place for a name.

    Returns:
        The names.
    """
    ordered = sorted(labels, key=lambda label: label.place)
    places = spread([label.place for label in ordered], LINE_HEIGHT, low, high)
    return joined(
        joined(
            line([(x + 2, label.place), (x + 9, place), (x + 13, place)], f"lead {label.kind}"),
            words(x + 16, place + 4, label.text, f"name {label.kind}"),
        )
        for label, place in zip(ordered, places, strict=True)
    )


def hatch(name: str) -> Markup:
    """Give the hatching that says `too cold` or `too much` without colour.

    Args:
        name: id of the pattern on the page.

    Returns:
        The pattern.
    """
    stroke = tag("path", d="M0 0V7", class_="hatch")
    pattern = tag(
        "pattern", stroke, id=name, width=7, height=7, patternUnits="userSpaceOnUse",
        patternTransform="rotate(45)",
    )  # fmt: skip
    return tag("defs", pattern)


def _plain(value: float) -> str:
    return f"{value:g}".replace("-", "\u2212")
