"""The warm-up in characters: whole pictures, and what has to hold of every one of them."""

import re
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest

from bmslint.data import rules_dir
from bmslint.facts.course import Course, Moment, Run, course
from bmslint.limits import load_limits
from bmslint.output.picture import DRAWN, PLAIN, Row, Signs, picture
from bmslint.settings import read

FOLDER = rules_dir().parent / "profiles"
FILES = sorted(path.relative_to(FOLDER).with_suffix("").as_posix() for path in FOLDER.rglob("*.yaml"))
RUNS: tuple[Run, ...] = ("heated_warmup", "ambient_warmup")

TIMES = tuple(60.0 * minute for minute in range(0, 101, 2))
WARM = Course(
    run="heated_warmup",
    starts_degC=-10.0,
    air_degC=-10.0,
    sensors=("skin",),
    decided_by="lowest",
    inhibit_degC=2.0,
    release_degC=5.0,
    hold_s=0.0,
    least_degC=0.0,
    times_s=TIMES,
    reading_degC=tuple(min(-10.0 + time / 120.0, 8.0) for time in TIMES),
    coldest_degC=tuple(-10.0 + time / 500.0 for time in TIMES),
    hottest_degC=tuple(min(-10.0 + time / 100.0, 10.0) for time in TIMES),
    heating=tuple(time < 2400.0 for time in TIMES),
    released=Moment(1800.0, 5.0, -6.4, 8.0),
    warm=Moment(5000.0, 8.0, 0.0, 10.0),
    sections=(),
    at_s=1800.0,
)


def lines(drawn: tuple[Row, ...]) -> list[str]:
    return ["".join(piece.text for piece in row) for row in drawn]


@cache
def followed(stem: str, run: Run) -> Course | None:
    document = read(FOLDER / f"{stem}.yaml")
    line = course(document.data, load_limits(document.data), run)
    return line if isinstance(line, Course) else None


def test_a_whole_picture() -> None:
    assert "\n".join(lines(picture(WARM, 60, DRAWN))) == WHOLE


def test_a_whole_picture_with_the_characters_of_a_typewriter() -> None:
    signs = dict(zip(DRAWN, PLAIN, strict=True))
    plain = "\n".join(lines(picture(WARM, 60, PLAIN)))
    assert plain == "".join(signs.get(sign, sign) for sign in WHOLE)
    assert plain.isascii()


WHOLE = """\
      degC
        10 │              ┃ hhhhhhhhhhhhhhhhhhhhhhhhhhhhhhhh
           │              hh sssssssssssssssssssssssssssssss
           │             h┃ s
 release 5 │╌╌╌╌╌╌╌╌╌╌╌╌h╌ss╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌
           │          hh s┃
 inhibit 2 │·········h·ss·┃·······························cc
           │        h s   ┃                        ccccccc
   limit 0 │════════hs════┃═══════════════════cccccc════════
           │      hss     ┃            ccccccc
           │     hs       ┃       ccccc
           │    hs        ┃ cccccc
           │  hs     ccccccc
           │ ss ccccc     ┃
       -10 │hccc          ┃
           └┬────────┬─────────┬────────┬─────────┬────────┬
            0        20        40       60        80 100 min
    heater  ███████████████████▒

s  what the deciding sensor reads (skin)
c  coldest point inside any cell
h  hottest point of any cell
   where curves meet, their letters take turns
█  heater on;  ▒  on for part of the time
┃  charging resumes after 30 min:
   sensor 5.0, coldest -6.4, hottest 8.0 degC"""


@pytest.mark.parametrize("width", [20, 60, 80, 200])
@pytest.mark.parametrize("stem", FILES)
def test_every_picture_keeps_its_width_and_its_letters(stem: str, width: int) -> None:
    for run in RUNS:
        line = followed(stem, run)
        if line is None:
            continue
        drawn = lines(picture(line, width, DRAWN))
        # What the letters mean stands below the drawing, after an empty row.
        assert max(map(len, drawn[: drawn.index("")])) <= min(max(width, 40), 100)
        assert max(map(len, drawn)) <= max(width, 60)
        assert [row for row in drawn if row != row.rstrip()] == []
        field = [row.split(DRAWN.upright, 1)[1] for row in drawn if DRAWN.upright in row]
        assert set("sch") <= set("".join(field))
        assert ("charging does not resume in this run" in "\n".join(drawn)) == (line.released is None)
        assert any(row.lstrip().startswith("heater") for row in drawn) == (run == "heated_warmup")


@pytest.mark.parametrize("stem", FILES)
def test_levels_that_differ_stand_in_rows_of_their_own_or_are_named_together(stem: str) -> None:
    for run in RUNS:
        line = followed(stem, run)
        if line is None:
            continue
        drawn = "\n".join(lines(picture(line, 80, DRAWN)))
        names = {"release": line.release_degC, "inhibit": line.inhibit_degC, "limit": line.least_degC}
        assert [f"{name} {value:g}" in drawn for name, value in names.items()] == [True] * 3


def test_curves_that_meet_take_turns_and_are_said_to() -> None:
    same = replace(WARM, coldest_degC=WARM.reading_degC, hottest_degC=WARM.reading_degC)
    drawn = "\n".join(lines(picture(same, 60, DRAWN)))
    assert "hcs" in drawn
    assert "where curves meet, their letters take turns" in drawn
    alone = replace(WARM, hottest_degC=tuple(40.0 for _ in TIMES), coldest_degC=tuple(-40.0 for _ in TIMES))
    assert "take turns" not in "\n".join(lines(picture(alone, 60, DRAWN)))


def test_a_heater_that_switches_within_a_column_is_drawn_and_explained() -> None:
    often = replace(WARM, heating=tuple(number % 2 == 0 for number in range(len(TIMES))))
    drawn = lines(picture(often, 40, DRAWN))
    assert any(DRAWN.partly in row for row in drawn if row.lstrip().startswith("heater"))
    assert f"{DRAWN.on}  heater on;  {DRAWN.partly}  on for part of the time" in drawn


def test_the_heater_is_drawn_by_the_share_of_a_columns_time() -> None:
    """48 columns over 100 min are 47 steps of 2.13 min; 40 min lie in the column about 40.4."""
    row = next(row for row in lines(picture(WARM, 60, DRAWN)) if row.lstrip().startswith("heater"))
    assert row == "    heater  " + 19 * DRAWN.on + DRAWN.partly


@pytest.mark.parametrize(("end_s", "unit"), [(600.0, "min"), (5 * 3600.0, "h"), (14 * 86400.0, "days")])
def test_the_time_axis_has_the_unit_that_fits(end_s: float, unit: str) -> None:
    times = tuple(end_s * share / 50 for share in range(51))
    slow = replace(WARM, times_s=times, released=None, warm=None)
    axis = next(row for row in lines(picture(slow, 80, DRAWN)) if re.fullmatch(rf"[ \d.]+ {unit}", row))
    marks = [float(mark) for mark in axis.replace(unit, "").split()]
    assert marks[0] == 0.0
    steps = {round(after - before, 9) for before, after in pairwise(marks)}
    assert len(steps) == 1
    factor = {"min": 60.0, "h": 3600.0, "days": 86400.0}[unit]
    assert marks[-1] <= end_s / factor < marks[-1] + steps.pop()


def test_names_of_sensors_cannot_leave_their_row() -> None:
    """The format allows no such name; a picture is made of whatever it is given."""
    odd = replace(WARM, sensors=("a\x1b[31m\u202e\n",))
    (told,) = [row for row in lines(picture(odd, 60, DRAWN)) if "deciding sensor" in row]
    assert told == "s  what the deciding sensor reads (a<U+001B>[31m<U+202E><U+000A>)"


def test_the_signs_of_both_sets_tell_the_same_apart() -> None:
    for signs in (DRAWN, PLAIN):
        assert len({signs.release, signs.inhibit, signs.limit, signs.instant}) == 4
        assert len({signs.on, signs.partly, " "}) == 3
    assert Signs._fields == (
        "upright",
        "corner",
        "level",
        "mark",
        "release",
        "inhibit",
        "limit",
        "instant",
        "on",
        "partly",
    )
