"""Series of invented sensors on a bead filter, made from the charge model, with the true times.

The pressure at the face, the level in the sump and the times of release follow
`tailrace.beadfilter.charge`; noise, drift, refill and disturbances are invented. Run as
``python -m tests.backwash_series`` for how often the search misses or is wrong.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tailrace.beadfilter.charge import Charge, charge, fill_frac_at
from tailrace.beadfilter.circuit import face_pressure_pa_gauge, water_state
from tailrace.beadfilter.machine import Setting
from tailrace.beadfilter.setting import needle_gap_for_float_m
from tailrace.sensors.backwashes import Backwash, Kind, find_backwashes
from tests.machines import DAY, MACHINE, SCFH

Array = NDArray[np.float64]

SUMP_AREA_M2 = 0.30
RELEASE_S = 12.0
REFILL_S = 45.0
T0 = 1_780_000_000.0  # an invented day
DAYS = 3.0


@dataclass(frozen=True)
class Case:
    """What is simulated."""

    kind: Kind
    float_scfh: float
    spacing_s: float
    noise_share: float  # of the whole step; in dB for sound
    disturbed: bool = False


@dataclass(frozen=True)
class Made:
    """A series with the true times of release."""

    time_s: Array
    values: Array
    true_s: Array


@cache
def charge_at(float_scfh: float) -> Charge:
    """A charge of the fixture machine at a float reading."""
    water = water_state(MACHINE, 0.70, DAY)
    gap = needle_gap_for_float_m(MACHINE, 0.70, float_scfh * SCFH, DAY, water=water)
    return charge(MACHINE, Setting(0.70, gap), DAY, water=water)


def simulate(case: Case, rng: np.random.Generator, days: float = DAYS) -> Made:
    """Make a series of some days."""
    model = charge_at(case.float_scfh)
    starts = [-rng.uniform(0.0, model.interval_s)]
    factors = []
    while starts[-1] < days * 86400.0:
        factors.append(float(np.exp(0.08 * rng.standard_normal())))  # needle, deposit, weather
        starts.append(starts[-1] + model.interval_s * factors[-1])
    true_s = np.array(starts[1:-1])
    time_s = np.arange(0.0, days * 86400.0, case.spacing_s)
    time_s = time_s + rng.uniform(0.0, 0.2 * case.spacing_s, time_s.size)
    which = np.searchsorted(np.array(starts), time_s, side="right") - 1
    since = (time_s - np.array(starts)[which]) / np.array(factors)[which]
    if case.kind is Kind.SOUND:
        values = _sound(since, true_s, time_s, case, rng)
    else:
        values = _shape(model, since, case, rng)
        values = values + _drift(time_s, case, rng)
    if case.disturbed:
        time_s, values = _disturb(time_s, values, case, rng)
    return Made(T0 + time_s, values, T0 + true_s + RELEASE_S)  # the air has left


def _shape(model: Charge, since: Array, case: Case, rng: np.random.Generator) -> Array:
    fill = np.array([fill_frac_at(model, s) for s in np.linspace(0.0, model.interval_s, 400)])
    filled = np.interp(since, np.linspace(0.0, model.interval_s, 400), fill)
    # the release takes some seconds, then the hull refills
    leaving = np.clip(1.0 - since / RELEASE_S, 0.0, 1.0)
    filled = np.maximum(filled, leaving)
    low = np.clip(1.0 - np.maximum(since - RELEASE_S, 0.0) / REFILL_S, 0.0, 1.0)
    if case.kind is Kind.PRESSURE:
        face = face_pressure_pa_gauge(model.water, MACHINE, filled)
        step = model.face_end_pa_gauge - model.face_start_pa_gauge
        clean = face - 0.5 * step * low * (since > RELEASE_S)  # the hull stands low meanwhile
    else:
        step = MACHINE.chamber.volume_m3 / SUMP_AREA_M2
        clean = 0.4 + step * filled - 0.2 * step * low * (since > RELEASE_S)
    noise = case.noise_share * step * rng.standard_normal(since.size)
    return np.asarray(clean + noise, dtype=np.float64)


def _drift(time_s: Array, case: Case, rng: np.random.Generator) -> Array:
    day = 2.0 * np.pi * (time_s / 86400.0 + rng.uniform())
    if case.kind is Kind.PRESSURE:
        return np.asarray(150.0 * np.sin(day))  # deposit and weather
    used = 0.012 * ((time_s / 86400.0 + rng.uniform()) % 1.0) / SUMP_AREA_M2  # topped up daily
    return np.asarray(-used)


def _sound(
    since: Array, true_s: Array, time_s: Array, case: Case, rng: np.random.Generator
) -> Array:
    values = 45.0 + 2.0 * np.sin(2.0 * np.pi * time_s / 86400.0)
    roar = (since < RELEASE_S + 15.0) & (time_s >= true_s[0])
    values = values + 12.0 * roar
    return np.asarray(values + case.noise_share * rng.standard_normal(time_s.size))


def _disturb(
    time_s: Array, values: Array, case: Case, rng: np.random.Generator
) -> tuple[Array, Array]:
    """Pump off twice, single wild readings, a gap, doors and a tractor."""
    values = values.copy()
    span = time_s[-1]
    for begin in rng.uniform(0.1, 0.9, 2) * span:
        held = (time_s > begin) & (time_s < begin + rng.uniform(300.0, 1500.0))
        if case.kind is Kind.PRESSURE:
            values[held] = rng.normal(0.0, 20.0, int(held.sum()))
        elif case.kind is Kind.LEVEL:
            values[held] += 0.08  # what stood in the pipes runs back
        else:
            values[held] += 9.0  # a tractor
    wild = rng.integers(0, time_s.size, 5)
    values[wild] += rng.choice([-1.0, 1.0], 5) * (
        np.ptp(values) if case.kind != Kind.SOUND else 15
    )
    begin = rng.uniform(0.2, 0.8) * span
    kept = (time_s < begin) | (time_s > begin + 1800.0)
    return time_s[kept], values[kept]


@dataclass(frozen=True)
class Score:
    """Found against true."""

    true: int
    found: int
    missed: int
    false: int
    errors_s: tuple[float, ...]
    within: int  # found ones whose stated uncertainty holds the truth


def score(made: Made, found: tuple[Backwash, ...]) -> Score:
    """Match each found time with the nearest true one not yet matched."""
    # a release that falls into a gap of more than ten minutes cannot be seen
    wide = np.flatnonzero(np.diff(made.time_s) > 600.0)
    seen = made.true_s
    for place in wide:
        inside = (seen > made.time_s[place] - 120.0) & (seen < made.time_s[place + 1] + 120.0)
        seen = seen[~inside]
    edge = (seen > made.time_s[0] + 300.0) & (seen < made.time_s[-1] - 300.0)
    free = list(made.true_s)
    errors, within, false, hit = [], 0, 0, set()
    for one in found:
        gaps = np.abs(np.array(free) - one.at_s) if free else np.array([np.inf])
        near = int(np.argmin(gaps))
        if gaps[near] <= max(120.0, 2.0 * one.within_s):
            true = free.pop(near)
            hit.add(true)
            errors.append(one.at_s - true)
            within += abs(one.at_s - true) <= one.within_s
        else:
            false += 1
    counted = seen[edge]
    missed = sum(true not in hit for true in counted)
    return Score(counted.size, len(found), missed, false, tuple(errors), within)


def cases() -> Iterator[Case]:
    """Three kinds, slow and fast charges, spacings, noises, calm and disturbed."""
    for disturbed in (False, True):
        for float_scfh in (0.10, 0.175, 0.6):
            for spacing_s in (5.0, 60.0):
                for kind in (Kind.PRESSURE, Kind.LEVEL):
                    for noise in (0.02, 0.10, 0.25):
                        yield Case(kind, float_scfh, spacing_s, noise, disturbed)
            for spacing_s in (1.0, 5.0):
                for noise in (1.0, 3.0):
                    yield Case(Kind.SOUND, float_scfh, spacing_s, noise, disturbed)


def trial(
    case: Case, runs: int, seed: int
) -> tuple[Counter[str], list[float], list[tuple[float, bool]]]:
    """Add up some runs of a case; also each confidence with whether it was right."""
    rng = np.random.default_rng(seed)
    counts: Counter[str] = Counter()
    errors: list[float] = []
    sure: list[tuple[float, bool]] = []
    for _ in range(runs):
        made = simulate(case, rng)
        found = find_backwashes(made.time_s, made.values, case.kind)
        got = score(made, found)
        counts.update(true=got.true, found=got.found, missed=got.missed, false=got.false)
        counts.update(within=got.within)
        errors += got.errors_s
        for one in found:
            right = bool(np.min(np.abs(made.true_s - one.at_s)) <= max(120.0, 2 * one.within_s))
            sure.append((one.confidence, right))
    return counts, errors, sure


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")


def main() -> None:
    """Print the table of docs/sensors.md."""
    sure: list[tuple[float, bool]] = []
    _say("kind     float spacing noise disturbed   true missed  false  late_s sd_s within")
    for case in cases():
        counts, errors, pairs = trial(case, 5, 1)
        sure += pairs
        late, spread = (np.mean(errors), np.std(errors)) if errors else (np.nan, np.nan)
        held = counts["within"] / max(1, len(errors))
        _say(
            f"{case.kind.value:9}{case.float_scfh:5.3f} {case.spacing_s:5.0f}"
            f" {case.noise_share:6.2f} {case.disturbed!s:9}"
            f" {counts['true']:6} {counts['missed']:6} {counts['false']:6}"
            f" {late:7.1f} {spread:5.1f} {held:5.2f}"
        )
    for low, high in ((0.5, 0.7), (0.7, 0.9), (0.9, 0.99), (0.99, 1.01)):
        inside = [right for value, right in sure if low <= value < high]
        if inside:
            share = f"{np.mean(inside):.3f} of {len(inside)}"
            _say(f"confidence {low} to {min(high, 1.0)}: right {share}")


if __name__ == "__main__":
    main()
