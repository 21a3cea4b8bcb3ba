"""An eighth of four cells in a row as scipy's sparse network, and the same pack as a settings file.

The pack is alike on both ends, both sides, above and below, so an eighth of it with adiabatic planes of
symmetry is the whole. The network is that of `volume_block.py`: no axes, no modes, films as nodes. What the
settings do with it, thresholds, steps of current, heat by each volume's own temperature, is written out
here a second time.

Outside are still air and radiation of 3.5 and 4.2 W/(m2 K), the nominal defaults; all else is declared.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from cases import FACES, Case, Face
from numpy.typing import NDArray
from scipy.integrate import OdeSolution, solve_ivp
from scipy.sparse import csr_matrix
from volume_block import VolumeBlock

from bmslint.facts import Facts, derive
from bmslint.limits import load_limits
from bmslint.settings import Document, read_text

Array = NDArray[np.float64]

CELL_M, MASS_KG = (0.036, 0.130, 0.200), 2.0
CELL_M3 = CELL_M[0] * CELL_M[1] * CELL_M[2]
CUT = (24, 5, 5)
SOAKED_DEGC = -20.0
# Rows of what one cell bears (degC, A), and what it is harmed below.
BEARS = ((0.0, 10.0), (5.0, 20.0), (10.0, 30.0), (20.0, 50.0))

TEXT = """
format: 1
title: Four invented cells in a row, heated on both ends
pack:
  chemistry: lfp
  series: 4
  parallel: 1
  cell:
    shape: prismatic
    capacity_Ah: 100
    thickness_mm: 36
    width_mm: 130
    height_mm: 200
    mass_kg: 2.0
    resistance_mohm: OHM
    resistance_ratio_0degC: 3
    thermal: {through_W_per_mK: 0.9, along_W_per_mK: 19, specific_heat_J_per_kgK: 1020, basis: measured}
    limits:
      source: invented
      charge_degC: {min: 0, max: 55}
      charge_current: [{from_degC: 0, max_A: 10}, {from_degC: 5, max_A: 20}, {from_degC: 10, max_A: 30},
        {from_degC: 20, max_A: 50}]
  layout: {stacked: 4, contact_m2K_per_W: 0.0003}
  enclosure: {insulation_mm: FOAM, insulation_W_per_mK: 0.035, underside: insulated}
HEATER
sensors:
  core: {place: between_cells, accuracy_K: 0, lag_s: 0}
  end: {place: cell_face, face: ends, accuracy_K: 0, lag_s: 0}
protection:
  charge_cold: {inhibit_below_degC: INHIBIT, release_above_degC: RELEASE, hold_s: HOLD, sensors: [SENSOR]}
charge_current: {steps: STEPS, between_steps: hold, sensors: [SENSOR]}
charger: {max_A: 200}
site: {coldest_degC: -20, hottest_degC: 30, warms_to_degC: AIR}
"""
HEATED = (
    "heater: {power_W: POWER, tolerance_pct: 0, faces: [ends], contact_m2K_per_W: 0.0006, sensors: [core], "
    "on_below_degC: ON, off_above_degC: OFF, max_on_min: none, cutout_degC: none}"
)


@dataclass(frozen=True)
class Told:
    """What a settings file says of the pack, and what is exchanged from case to case."""

    sensor: str = "end"
    inhibit_degC: float = 0.0
    release_degC: float = 5.0
    hold_s: float = 0.0
    steps: tuple[tuple[float, float], ...] = ((0.0, 20.0),)
    power_W: float | None = 60.0
    on_degC: float = 8.0
    off_degC: float = 12.0
    air_degC: float | None = None
    resistance_ohm: float = 2e-3
    foam_mm: float = 0.0

    def document(self, **words: str) -> Document:
        """Write the settings of the pack; words of its text are exchanged at the end."""
        steps = ", ".join(f"{{from_degC: {start}, max_A: {amps}}}" for start, amps in self.steps)
        text = TEXT.replace("HEATER", "heater: none" if self.power_W is None else HEATED)
        usual = {
            "OHM": f"{self.resistance_ohm * 1e3}", "HOLD": f"{self.hold_s}", "STEPS": f"[{steps}]",
            "INHIBIT": f"{self.inhibit_degC}", "RELEASE": f"{self.release_degC}", "SENSOR": self.sensor,
            "POWER": f"{self.power_W}", "ON": f"{self.on_degC}", "OFF": f"{self.off_degC}",
            "FOAM": f"{self.foam_mm}", "AIR": "none" if self.air_degC is None else f"{self.air_degC}",
        }  # fmt: skip
        for word, value in (usual | words).items():
            text = text.replace(word, value)
        document = read_text(text, "eighth.yaml")
        assert document.problems == (), document.problems
        return document

    def facts(self, **words: str) -> Facts:
        """Derive the facts of the pack."""
        document = self.document(**words)
        return derive(document.data, load_limits(document.data))

    @property
    def outside_K(self) -> float:
        """The surroundings above the start."""
        return 0.0 if self.air_degC is None else self.air_degC - SOAKED_DEGC


@dataclass(frozen=True)
class Properties:
    """Properties of the pack; the nominal ones where nothing else is said."""

    through: float = 0.9
    along: float = 19.0
    specific_heat: float = 1020.0
    contact: float = 3e-4
    film: float = 6e-4
    air_and_radiation: float = 3.5 + 4.2


class Eighth:
    """The network, its sensors and its coldest volume; temperatures are rises above the soaked start (K)."""

    def __init__(
        self, told: Told, properties: Properties | None = None, cut: tuple[int, int, int] = CUT
    ) -> None:
        self.told, self.cut = told, cut
        self.properties = has = properties or Properties()
        heated = 2 * CELL_M[1] * CELL_M[2]
        flux = 0.0 if told.power_W is None else told.power_W / heated
        self.loss_W_per_m2K = loss = 1 / (told.foam_mm / 1e3 / 0.035 + 1 / has.air_and_radiation)
        outer = Face(loss, told.outside_K)
        contact = None if told.power_W is None else 1 / has.film
        faces = dict.fromkeys(FACES, Face()) | {name: outer for name in FACES if name.endswith("low")}
        cold = {"x_low": Face(loss, told.outside_K, 0.0, contact)}
        hot = {"x_low": Face(loss, told.outside_K, flux, contact)}
        self.cases = {
            on: Case(
                (2, 1, 1), (CELL_M[0], CELL_M[1] / 2, CELL_M[2] / 2), (has.through, has.along, has.along),
                (has.contact, 0.0, 0.0), MASS_KG / CELL_M3 * has.specific_heat, faces | film,
            )
            for on, film in ((False, cold), (True, hot))
        }  # fmt: skip
        self.block = VolumeBlock(self.cases[False], cut)
        self.matrix = csr_matrix(self.block.reduced / -self.block.capacity)
        self.heats = {on: self.block.heat(case) / self.block.capacity for on, case in self.cases.items()}

    @cached_property
    def core(self) -> Array:
        """Weights of the middle of the pack, where three planes of symmetry meet.

        A field that is even about a plane is (9 T1 - T2) / 8 on it, to fourth order.
        """
        found = np.zeros(self.block.shape)
        for ends in product((0, 1), repeat=3):
            weight = float(np.prod([(-1 / 8 if end else 9 / 8) for end in ends]))
            found[tuple(-1 - end for end in ends)] = weight
        return found.ravel()

    @cached_property
    def behind_end(self) -> Array:
        """Weights of the volume behind the middle of the end face."""
        found = np.zeros(self.block.shape)
        for ends in product((0, 1), repeat=2):
            found[0, -1 - ends[0], -1 - ends[1]] = float(np.prod([(-1 / 8 if e else 9 / 8) for e in ends]))
        return found.ravel()

    def end(self, state: Array, on: bool) -> Array:
        """The cell's surface at the middle of the end, from the two balances at surface and film.

        States have the shape (volumes,) or (volumes, times).
        """
        face = self.cases[on].faces["x_low"]
        half = 2 * self.properties.through / (CELL_M[0] / self.cut[0])
        inner = self.behind_end @ state
        given = face.film_W_per_m2 + face.loss_W_per_m2K * face.outside_K
        if face.film_contact_W_per_m2K is None:
            return np.asarray((half * inner + given) / (half + face.loss_W_per_m2K))
        to_film, out = face.film_contact_W_per_m2K, face.loss_W_per_m2K
        # The film: given + to_film (surface - film) - out film = 0, put into the surface's balance.
        return np.asarray(
            (half * inner + to_film * given / (to_film + out)) / (half + to_film * out / (to_film + out))
        )

    def reading(self, sensor: str, state: Array, on: bool) -> Array:
        """What a sensor reads (degC)."""
        rise = np.asarray(self.core @ state) if sensor == "core" else self.end(state, on)
        return SOAKED_DEGC + rise

    def coldest(self, state: Array) -> Array:
        """The coldest volume (degC)."""
        return np.asarray(SOAKED_DEGC + state.min(axis=0))

    def joule(self, state: Array, current_A: float) -> Array:
        """Heating of each volume (K/s) by its own resistance: Arrhenius through 3 at 0 and 1 at 25 degC."""
        kelvin = state + SOAKED_DEGC + 273.15
        ohm = self.told.resistance_ohm * 3.0 ** ((1 / kelvin - 1 / 298.15) / (1 / 273.15 - 1 / 298.15))
        return np.asarray(current_A**2 * ohm / CELL_M3 / self.cases[False].heat_J_per_m3K)

    def run(
        self,
        state: Array,
        on: bool,
        current_A: float,
        seconds: float,
        events: Mapping[str, Callable[[float, Array], float]],
    ) -> tuple[OdeSolution, float, str]:
        """March until an event comes true (its function rises through 0) or the time is over."""
        functions = list(events.values())
        for function in functions:
            function.terminal, function.direction = True, 1.0  # type: ignore[attr-defined]
        found = solve_ivp(
            lambda _, t: self.matrix @ t + self.heats[on] + self.joule(t, current_A),
            (0.0, seconds), state, "BDF", events=functions, jac=self.matrix, dense_output=True,
            rtol=1e-6, atol=1e-5,
        )  # fmt: skip
        happened = [name for name, times in zip(events, found.t_events, strict=True) if times.size]
        return found.sol, float(found.t[-1]), happened[0] if happened else ""

    def released(self) -> tuple[Array, float]:
        """March to the release with the heater always on: the state then, and the time (s)."""
        told = self.told
        on = told.power_W is not None
        solution, seconds, why = self.run(
            np.zeros(self.block.number.size), on, 0.0, 14 * 86400.0,
            {"release": lambda _, t: float(self.reading(told.sensor, t, on)) - told.release_degC},
        )  # fmt: skip
        assert why == "release"
        return solution(seconds), seconds


def bears_A(degC: Array) -> Array:
    """What a cell bears at temperatures (degC): row after row of the table, none below the first."""
    found = np.zeros_like(degC)
    for start, amps in BEARS:
        found = np.where(degC >= start, amps, found)
    return found


FOLLOWED_S = 7200.0


@dataclass(frozen=True)
class Passed:
    """What passed in the two hours after the release."""

    below_limit_Ah: float
    above_allowed_Ah: float
    excess_A: float
    switches: int


def charge_on(eighth: Eighth, state: Array) -> Passed:
    """Follow thermostat, inhibit, release and steps from the release on, from event to event.

    Current, coldest volume and what the cells bear there are compared every second.
    """
    told = eighth.told
    starts = np.array([start for start, _ in told.steps])
    amps = np.array([0.0, *(amount for _, amount in told.steps)])

    def row_at(state: Array, on: bool) -> int:
        # What is met to a millionth of a kelvin is reached.
        return int((float(eighth.reading(told.sensor, state, on)) + 1e-6 >= starts).sum())

    on, charging, clock, switches = told.power_W is not None, True, 0.0, 0
    row = row_at(state, on)
    flows, colds = [], []
    while clock < FOLLOWED_S - 1e-6:

        def deciding(t: Array, on: bool = on) -> float:
            return float(eighth.reading(told.sensor, t, on))

        events: dict[str, Callable[[float, Array], float]] = {}
        if told.power_W is not None and on:
            events["off"] = lambda _, t: float(eighth.reading("core", t, True)) - told.off_degC
        elif told.power_W is not None:
            events["on"] = lambda _, t: told.on_degC - float(eighth.reading("core", t, False))
        if charging:
            events["inhibit"] = lambda _, t: told.inhibit_degC - deciding(t)
        else:
            events["release"] = lambda _, t: deciding(t) - told.release_degC
        if row < len(starts):
            events["up"] = lambda _, t, at=starts[row]: deciding(t) - at  # type: ignore[misc]
        if row > 0:
            events["down"] = lambda _, t, at=starts[row - 1]: at - deciding(t)  # type: ignore[misc]
        current = float(amps[row]) if charging else 0.0
        solution, seconds, why = eighth.run(state, on, current, FOLLOWED_S - clock, events)
        looks = np.arange(np.ceil(clock), np.ceil(clock + seconds)) - clock
        if looks.size:
            flows += [current] * looks.size
            colds += eighth.coldest(solution(looks)).tolist()
        state, clock = solution(seconds), clock + seconds
        if why in ("off", "on"):
            on, switches = why == "on", switches + 1
            # Without the film's flux the surface reads less at once.
            row = row_at(state, on)
            if charging and float(eighth.reading(told.sensor, state, on)) <= told.inhibit_degC:
                charging = False
        elif why in ("inhibit", "release"):
            charging = why == "release"
            row = row_at(state, on)
        elif why:
            row += 1 if why == "up" else -1
    flow, cold = np.array(flows), np.array(colds)
    over = flow - bears_A(cold)
    return Passed(
        float(flow[cold < 0.0].sum() / 3600.0),
        float(flow[over > 1e-9].sum() / 3600.0),
        float(max(over.max(), 0.0)),
        switches,
    )
