"""What happens minute by minute while a cold pack warms up, until charging resumes and after."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from bmslint.facts.quantity import Missing
from bmslint.output.story.form import Table
from bmslint.output.story.teller import error, number

if TYPE_CHECKING:
    from bmslint.facts.course import Course, Run
    from bmslint.output.story.teller import Teller

RUNS: tuple[Run, ...] = ("heated_warmup", "ambient_warmup")
STANDING = "The pack has stood at {.starts_degC} so long that every cell is as cold as the air."
BEGINS = {
    "heated_warmup": "A charger is there and the heater works by its own settings.",
    "ambient_warmup": "It is now brought into air of {site.warms_to_degC}; nothing heats it.",
}
AFTER = (
    "In the two hours after that {.above_allowed_Ah} of charge pass while cells get more current than they "
    "bear at their temperature, at worst by {.excess_current_A}.",
    "Of these, {.below_limit_Ah} pass while a cell is colder than it may be charged at all.",
)
HEATED = (
    "Two hours after charging resumed, the heater has used {.energy_Wh}, {.energy_share_pct} of what the "
    "full pack holds."
)
# Instants between the start, the release and the moment at which the coldest point is warm.
BETWEEN = 3
# From how long a course on its times are told in hours.
IN_HOURS_S = 3 * 3600.0
# How closely temperatures are read off a course, so that they stand below one another with a decimal each.
READ_TO_K = 0.05


def warmup_tale(teller: Teller, run: str) -> tuple[str, ...]:
    """Tell a warm-up.

    Args:
        teller: of the file.
        run: `heated_warmup` or `ambient_warmup`.

    Returns:
        Paragraphs; none where the run could not be derived.
    """
    at = f"facts.{run}"
    if teller.value(f"{at}.releases") is None:
        return ()

    def fill(text: str) -> str:
        return teller.fill(text.replace("{.", "{" + at + ".")) or ""

    waits = teller.value("protection.charge_cold.hold_s")
    held = " and has stayed there for {protection.charge_cold.hold_s}" if waits else ""
    start = [
        fill(STANDING),
        fill(BEGINS[run]),
        fill(
            "Charging is blocked until the deciding sensor ({.deciding_sensor}) reads "
            f"{{protection.charge_cold.release_above_degC}}{held}."
        ),
    ]
    if not teller.value(f"{at}.releases"):
        never = fill("In this run charging never resumes: {.never_releases_because}.")
        return " ".join(filter(None, start)), " ".join(filter(None, (never, _warm_alone(teller, run))))
    if not teller.value(f"{at}.time_to_release_min"):
        began = fill("The pack is warm enough for the sensor from the start, so charging is never blocked.")
        return (" ".join(filter(None, (start[0], began))),)
    release = [
        fill(
            "After {.time_to_release_min} that is so, and charging resumes. The sensor reads "
            "{.reading_at_release_degC}; at the same moment the coldest point inside the cells is at "
            "{.coldest_at_release_degC} and the hottest at {.hottest_at_release_degC}."
        ),
        _lag(teller, run),
    ]
    after = [fill(text) for text in AFTER] if _positive(teller, f"{at}.above_allowed_Ah") else []
    after = after[:1] if not _positive(teller, f"{at}.below_limit_Ah") else after
    after += [fill(HEATED)] if run == "heated_warmup" else []
    parts = (start, release, after)
    return tuple(told for part in parts if (told := " ".join(filter(None, part))))


def _positive(teller: Teller, path: str) -> bool:
    value = teller.value(path)
    return isinstance(value, float) and value > 0.0


def _lag(teller: Teller, run: str) -> str:
    """Say by how long charging resumes before, or after, the coldest point is warm enough."""
    at = f"facts.{run}"
    warm, released = (
        teller.quantity(f"{at}.coldest_warm_after_min"),
        teller.quantity(f"{at}.time_to_release_min"),
    )
    if warm is None or released is None:
        missing = teller.inputs.facts.find(f"{run}.coldest_warm_after_min")
        cold = isinstance(missing, Missing) and not missing.paths
        return f"Without charging, {missing.reason}." if isinstance(missing, Missing) and cold else ""
    assert isinstance(warm.value, float)
    assert isinstance(released.value, float)
    if warm.value <= 0.0:
        return "The cells may be charged at that temperature from the start."
    gap = abs(warm.value - released.value)
    told = number(gap, "min", "", max(error(warm), error(released)), apart_from=0.0)
    if warm.value > released.value:
        text = (
            f"Left uncharged, the coldest point would be at {{limits.charge_degC.min}} only after "
            f"{{{at}.coldest_warm_after_min}}: charging resumes {teller.tell(told)} too early."
        )
    else:
        text = (
            f"The coldest point has been at {{limits.charge_degC.min}} since {{{at}.coldest_warm_after_min}} "
            f"after the start: {teller.tell(told)} before charging resumes."
        )
    return teller.fill(text) or ""


def _warm_alone(teller: Teller, run: str) -> str:
    return (
        teller.fill(
            f"The coldest point of the cells is at {{limits.charge_degC.min}} after "
            f"{{facts.{run}.coldest_warm_after_min}}."
        )
        or ""
    )


def minutes(teller: Teller, course: Course) -> Table:
    """Tell a warm-up at some instants.

    Args:
        teller: of the file; keeps the numbers.
        course: the warm-up over time.

    Returns:
        A row for each instant: the time, what the deciding sensor reads, the coldest and the hottest point.
    """
    marked = {0.0: "", **({course.warm.time_s: "warm enough"} if course.warm else {})}
    if course.released:
        marked[course.released.time_s] = "charging on"
    ends = sorted({*marked, *(() if course.released else (course.times_s[-1],))})
    wanted = set(ends)
    for before, after in itertools.pairwise(ends):
        step = (after - before) / (BETWEEN + 1)
        if step > (ends[-1] - ends[0]) / 12:
            wanted |= {_nearest(course, before + n * step) for n in range(1, BETWEEN + 1)}
    # All times in one unit, so that they can be compared at a glance.
    unit, unit_s = ("h", 3600.0) if ends[-1] >= IN_HOURS_S else ("min", 60.0)
    rows = []
    for time in sorted(wanted):
        index = course.times_s.index(_nearest(course, time))
        read, cold, hot = course.reading_degC[index], course.coldest_degC[index], course.hottest_degC[index]
        when = number(time / unit_s, unit, "course", error=0.05)
        cells = [number(each, "degC", "course", READ_TO_K) for each in (read, cold, hot)]
        rows.append((teller.tell(when), *(teller.tell(each) for each in cells), marked.get(time, "")))
    return Table("Minute by minute", ("after", "sensor", "coldest", "hottest", ""), tuple(rows))


def _nearest(course: Course, time_s: float) -> float:
    return min(course.times_s, key=lambda each: abs(each - time_s))
