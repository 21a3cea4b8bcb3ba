"""Writes a fleet of distinct settings files, all invented: the good profiles with other numbers.

    .venv/bin/python tests/benchmarks/fleet.py FOLDER [COUNT]

Each is a whole file with the comments and the layout of its profile; sizes of cells, heater, insulation,
site, sensors, thresholds, voltages and currents differ. Number N is the same file whatever the count.
"""

import random
import re
import sys
from pathlib import Path

PROFILES = Path(__file__).parents[2] / "profiles"

SCALED = {
    "thickness_mm": 0.15, "width_mm": 0.1, "height_mm": 0.1, "diameter_mm": 0.1, "mass_kg": 0.1,
    "resistance_mohm": 0.25, "power_W": 0.3, "tolerance_pct": 0.5, "max_on_min": 0.2, "insulation_mm": 0.4,
    "insulation_W_per_mK": 0.2, "lag_s": 0.5, "accuracy_K": 0.5, "resolution_K": 0.5, "delay_s": 0.3,
    "trip_above_A": 0.05, "continuous_A": 0.05, "surge_A": 0.05, "board_draw_mA": 0.5, "days": 0.4,
    "current_mA": 0.3, "tail_below_A": 0.2, "melting_A2s": 0.1,
}  # fmt: skip
"""By key, the largest part of the number that it differs by."""

SHIFTED = {
    "coldest_degC": 6.0, "hottest_degC": 4.0, "warms_to_degC": 3.0, "inhibit_below_degC": 1.0,
    "release_above_degC": 1.0, "inhibit_above_degC": 1.0, "release_below_degC": 1.0, "on_below_degC": 0.5,
    "off_above_degC": 0.5, "cutout_degC": 3.0, "trip_above_V": 0.02, "release_below_V": 0.02,
    "trip_below_V": 0.05, "release_above_V": 0.05, "bulk_V": 0.1, "float_V": 0.1, "start_above_V": 0.02,
}  # fmt: skip
"""By key, the most that is added to the number or taken from it."""

_NUMBER = re.compile(r"\b([A-Za-z]\w*): (-?\d+(?:\.(\d+))?)(?=[\s,}\]])")


def variant(number: int) -> tuple[str, str]:
    """Make a settings file of the fleet.

    Args:
        number: which one.

    Returns:
        The name of its file, and its text.
    """
    bases = sorted(PROFILES.glob("*.yaml"))
    base = bases[number % len(bases)]
    draw = random.Random(f"fleet {number}")

    def other(match: re.Match[str]) -> str:
        key, text, decimals = match[1], match[2], len(match[3] or "")
        if draw.random() < 0.3:
            return match[0]
        value = float(text)
        if key in SCALED:
            value *= 1 + draw.uniform(-SCALED[key], SCALED[key])
            decimals = max(decimals, 1) if abs(value) < 20 else decimals
        elif key in SHIFTED:
            value += draw.uniform(-SHIFTED[key], SHIFTED[key])
            decimals = max(decimals, 3) if key.endswith("V") else max(decimals, 1)
        return f"{key}: {value:.{decimals}f}" if key in SCALED or key in SHIFTED else match[0]

    lines = []
    for line in base.read_text(encoding="utf-8").splitlines():
        said, mark, comment = line.partition("#")
        said = _NUMBER.sub(other, said)
        lines.append((f"{said}, no. {number}" if said.startswith("title:") else said) + mark + comment)
    return f"{base.stem}-{number:05d}.yaml", "\n".join(lines) + "\n"


def write_fleet(folder: Path, count: int) -> list[Path]:
    """Write a fleet.

    Args:
        folder: where to; created if it is not there.
        count: how many files.

    Returns:
        The files, sorted.
    """
    folder.mkdir(parents=True, exist_ok=True)
    files = []
    for number in range(count):
        name, text = variant(number)
        (folder / name).write_text(text, encoding="utf-8")
        files.append(folder / name)
    return sorted(files)


if __name__ == "__main__":
    written = write_fleet(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 10_000)
    print(f"{len(written)} settings files in {sys.argv[1]}")
