"""The block of cells in a cut: temperature bands, cells, heater films, sensors, coldest and hottest point."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from math import ceil, floor
from typing import TYPE_CHECKING

from bmslint.output.report.figures.plot import LINE_HEIGHT, WIDTH, figure, hatch, line, words
from bmslint.output.report.markup import Markup, degrees, joined, number, tag
from bmslint.output.report.scale import round_steps, spread, widened

if TYPE_CHECKING:
    from bmslint.facts.course import Course
    from bmslint.facts.section import Section, Spot

LEFT, RIGHT, TOP, TALLEST = 14.0, 276.0, 40.0, 280.0
BANDS = 5
"""Shades on each side of the limit."""
LONGEST_NAME = 15

SEEN = {"y": "from above", "z": "from the side"}
SIZES = {"x": "stack", "y": "width", "z": "height"}


def sections_worth_drawing(course: Course) -> list[Section]:
    """Choose cuts: the first, and the other one where it shows a film or a sensor that the first does not.

    Args:
        course: a warm-up with its cuts.

    Returns:
        One or two cuts.
    """
    first, *others = sorted(course.sections, key=lambda each: -len(each.films))
    return [first, *(each for each in others if len(each.films) == len(first.films) or not first.films)]


def block(name: str, course: Course, section: Section) -> Markup:
    """Draw a cut.

    Args:
        name: id of the figure.
        course: the warm-up that it belongs to.
        section: the cut.

    Returns:
        The figure.
    """
    width_mm, height_mm = section.across_edges_mm[-1], section.up_edges_mm[-1]
    size = min((RIGHT - LEFT) / width_mm, TALLEST / height_mm)
    left = LEFT + ((RIGHT - LEFT) - size * width_mm) / 2
    bottom = TOP + size * height_mm

    def place(across_mm: float, up_mm: float) -> tuple[float, float]:
        return left + size * across_mm, bottom - size * up_mm

    edges = band_edges(section, course.least_degC)
    pattern = f"{name}-hatch"
    height = bottom + 56.0
    when = "when charging is released" if course.released else "where the run ends without a release"
    return figure(
        name,
        f"The block of cells {when}, {SEEN[section.up]}",
        told(course, section),
        [
            hatch(pattern),
            _bands(section, edges, course.least_degC, pattern, left, bottom, size),
            tag(
                "path",
                d="".join(_box(*place(a, b), *place(c, d)) for a, b, c, d in section.cells),
                class_="cell",
            ),
            *(line([place(a, b), place(c, d)], "film") for a, b, c, d in section.films),
            _marks(course, section, place, bottom),
            words(left, TOP - 14, _size(section), "tick"),
            _legend(edges, course.least_degC, pattern, bottom + 22.0),
        ],
        height,
        _caption(course, section),
    )


def band_edges(section: Section, least_degC: float | None) -> list[float]:
    """Divide the temperatures of a cut into bands.

    Args:
        section: the cut.
        least_degC: lowest charge temperature, an edge where it lies among them; None if not known.

    Returns:
        Edges (degC), ascending, at most `BANDS` on each side of the limit.
    """
    every = [degC for row in section.degC for degC in row]
    low, high = widened(floor(min(every)), ceil(max(every)), BANDS)
    edges = [low, *(step for step in round_steps(low, high, BANDS) if low < step < high), high]
    if least_degC is not None and low < least_degC < high and least_degC not in edges:
        nearest = min(edges[1:-1] or [low], key=lambda edge: abs(edge - least_degC))
        edges = sorted({least_degC, *(edge for edge in edges if edge != nearest or edge in (low, high))})
    return edges


def band_class(low_degC: float, edges: Sequence[float], least_degC: float | None) -> str:
    """Name the shade of a band: `cold` below the limit, `warm` above it, deeper further from it.

    Args:
        low_degC: the band's lower edge.
        edges: every edge.
        least_degC: the limit; None counts as the lowest edge.

    Returns:
        Its class.
    """
    limit = edges[0] if least_degC is None else least_degC
    if low_degC >= limit:
        above = [edge for edge in edges[:-1] if edge >= limit]
        return f"warm{min(above.index(low_degC) + 1, BANDS)}"
    below = [edge for edge in reversed(edges[:-1]) if edge < limit]
    return f"cold{min(below.index(low_degC) + 1, BANDS)}"


def told(course: Course, section: Section) -> str:
    """Say in words what the drawing shows.

    Args:
        course: the warm-up.
        section: the cut.

    Returns:
        Sentences.
    """
    every = [degC for row in section.degC for degC in row]
    spots = [f"{spot.name} ({spot.place.replace('_', ' ')})" for spot in section.spots]
    sensors = f" Sensors: {', '.join(spots)}." if spots else ""
    count = len(section.films)
    films = f" {count} heater {'film is' if count == 1 else 'films are'} met by the cut." if count else ""
    return (
        f"A cut through the block, {len(section.cells)} cells, {_size(section)}. The coldest point of the "
        f"cut is at {degrees(min(every))}, the hottest at {degrees(max(every))}.{films}{sensors}"
    )


def _bands(
    section: Section, edges: Sequence[float], least_degC: float | None, pattern: str, left: float,
    bottom: float, size: float,
) -> Markup:  # fmt: skip
    """Fill the volumes, neighbours of one band in a row together; those below the limit are hatched too."""
    shapes: dict[str, list[str]] = {}
    cold: list[str] = []
    xs = [left + size * edge for edge in section.across_edges_mm]
    ys = [bottom - size * edge for edge in section.up_edges_mm]
    for row, temperatures in enumerate(section.degC):
        bands = [_band(degC, edges) for degC in temperatures]
        start = 0
        for end in range(1, len(bands) + 1):
            if end < len(bands) and bands[end] == bands[start]:
                continue
            low = edges[bands[start]]
            shape = _box(xs[start], ys[row], xs[end], ys[row + 1])
            shapes.setdefault(band_class(low, edges, least_degC), []).append(shape)
            if least_degC is not None and low < least_degC:
                cold.append(shape)
            start = end
    filled = [tag("path", d="".join(parts), class_=f"band {kind}") for kind, parts in sorted(shapes.items())]
    hatched = [tag("path", d="".join(cold), fill=f"url(#{pattern})")] if cold else []
    return joined(filled, hatched)


def _band(degC: float, edges: Sequence[float]) -> int:
    return min(max(bisect_right(edges, degC) - 1, 0), len(edges) - 2)


def _box(x: float, y: float, other_x: float, other_y: float) -> str:
    left, right, top, low = min(x, other_x), max(x, other_x), min(y, other_y), max(y, other_y)
    return f"M{number(left)} {number(top)}H{number(right)}V{number(low)}H{number(left)}z"


def _marks(
    course: Course, section: Section, place: Callable[[float, float], tuple[float, float]], bottom: float
) -> Markup:
    """The sensors, the coldest and the hottest point, each named beside the block."""
    every = [degC for row in section.degC for degC in row]
    marks: list[tuple[float, float, Markup, str, bool]] = []
    for spot in section.spots:
        x, y = place(spot.across_mm, spot.up_mm)
        decides = spot.name in course.sensors
        dot = tag("circle", cx=x, cy=y, r=5, class_="sensor decides" if decides else "sensor")
        marks.append((y, x, dot, _short(spot), decides))
    for kind, degC, at in (
        ("coldest", min(every), section.coldest_mm), ("hottest", max(every), section.hottest_mm),
    ):  # fmt: skip
        x, y = place(*at)
        shape = "M-5 -5L5 5M5 -5L-5 5" if kind == "coldest" else "M-6 0H6M0 -6V6"
        cross = tag("path", d=shape, transform=f"translate({number(x)} {number(y)})", class_="extreme")
        marks.append((y, x, cross, f"{kind} {degrees(degC)}", False))
    marks.sort(key=lambda mark: mark[:2])
    texts = spread([mark[0] for mark in marks], LINE_HEIGHT, TOP, max(bottom, TOP + LINE_HEIGHT * len(marks)))
    return joined(
        joined(
            line([(x, y), (RIGHT + 6, text), (RIGHT + 10, text)], "pointer"),
            shape,
            words(RIGHT + 13, text + 4, told, "name strong" if decides else "name"),
        )
        for (y, x, shape, told, decides), text in zip(marks, texts, strict=True)
    )


def _short(spot: Spot) -> str:
    return spot.name if len(spot.name) <= LONGEST_NAME else spot.name[: LONGEST_NAME - 1] + "…"


def _legend(edges: Sequence[float], least_degC: float | None, pattern: str, top: float) -> Markup:
    """The bands in a row with the temperatures between them."""
    wide = (WIDTH - 2 * LEFT - 30) / (len(edges) - 1)
    parts = []
    for i, low in enumerate(edges[:-1]):
        x = LEFT + 10 + wide * i
        parts.append(
            tag(
                "rect", x=x, y=top, width=wide, height=12, class_=f"band {band_class(low, edges, least_degC)}"
            )
        )
        if least_degC is not None and low < least_degC:
            parts.append(tag("rect", x=x, y=top, width=wide, height=12, fill=f"url(#{pattern})"))
    last = len(edges) - 1
    parts += [
        words(
            LEFT + 10 + wide * i,
            top + 27,
            degrees(edge) if i == last else degrees(edge).removesuffix(" °C"),
            "tick",
            "middle",
        )
        for i, edge in enumerate(edges)
    ]
    return joined(parts)


def _size(section: Section) -> str:
    return (
        f"{SIZES[section.across]} {section.across_edges_mm[-1]:.0f} mm, "
        f"{SIZES[section.up]} {section.up_edges_mm[-1]:.0f} mm"
    )


def _caption(course: Course, section: Section) -> Sequence[str]:
    parts = [f"A cut through the coldest point, {section.at_mm:.0f} mm along the {SIZES[section.normal]}."]
    if section.films:
        parts.append("Thick edges are heater films.")
    parts.append("Filled circles are sensors that release charging, open ones others.")
    if course.least_degC is not None:
        parts.append(
            f"Hatched is below {degrees(course.least_degC)}, the least at which the cells may be charged."
        )
    return [" ".join(parts)]
