"""Backwashes found in a series of pressure, level or sound.

Through an air charge the pressure at the face (or a level) moves slowly one way; at its end it
goes back at once. A microphone hears the release as a roar. See docs/sensors.md for how often
this is missed or wrong on simulated series.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter, uniform_filter1d
from scipy.special import ndtr

from tailrace.sensors.troubles import usual_spacing_s

# All judgement; the trial on simulated series shows what they are worth.
RELEASE_S = 20.0  # the air leaves within it; samples inside belong to neither side
AVERAGED = (1, 2, 4, 8, 16)  # samples averaged on each side, the fewest that suffice is taken
WORTH_AVERAGING = 1.05  # more averaging blurs the time, so it must bring out more
LEAST_STEP = 4.5  # times its noise
WILD = 6.0  # times the noise
FIRST_SHARE = 0.8
LEAST_CONFIDENCE = 0.5
ROAR_S = (8.0, 150.0)  # a slamming door is shorter, a passing tractor longer
ROAR_DB = 4.0
LOUD = 4.0  # times its noise
LOUD_ALONE = 5.0  # where a roar is one reading only
BACKGROUND_S = 900.0

Array = NDArray[np.float64]
Places = NDArray[np.intp]


class Kind(Enum):
    """What the series measures."""

    PRESSURE = "pressure"
    LEVEL = "level"
    SOUND = "sound"


@dataclass(frozen=True, slots=True)
class Backwash:
    """A backwash found.

    Parameters
    ----------
    at_s
        When the air left, seconds since 1970 in UTC.
    within_s
        How far off that may be, by the spacing of the readings [s].
    confidence
        How sure it is that this was a backwash, 0 to 1; a judgement, not a frequency.
    size
        The step, or the height of the roar above the background, in the unit of the series.
    """

    at_s: float
    within_s: float
    confidence: float
    size: float


@dataclass(frozen=True, slots=True, eq=False)
class _Steps:
    """Contrast between the means of some readings after and before each place."""

    side: int
    guard: int
    before: Array
    after: Array
    noise: float

    @property
    def contrast(self) -> Array:
        return self.after - self.before


def find_backwashes(time_s: Array, values: Array, kind: Kind) -> tuple[Backwash, ...]:
    """Find backwashes in a series.

    Parameters
    ----------
    time_s
        Times of the readings, rising, seconds since 1970 in UTC.
    values
        The readings. A level may rise or fall through a charge; a sound level is in decibels.
    kind
        What the series measures.

    Returns
    -------
    tuple of Backwash
        Those with a confidence of at least one half, the oldest first. Nothing is found in a
        gap of the readings longer than the usual interval, as several may hide there.

    Raises
    ------
    ValueError
        Times and values differ in number, or times do not rise.
    """
    if time_s.shape != values.shape or np.any(np.diff(time_s) <= 0.0):
        message = "times and values have one length, and the times rise"
        raise ValueError(message)
    good = np.isfinite(values)
    time_s, values = time_s[good], values[good]
    if time_s.size < 12:
        return ()
    if kind is Kind.SOUND:
        return _roars(time_s, values)
    if kind is Kind.PRESSURE:
        return _releases(time_s, values)
    falls = _releases(time_s, values)
    rises = _releases(time_s, -values)
    return falls if _weight(falls) >= _weight(rises) else rises


def _weight(found: tuple[Backwash, ...]) -> float:
    return sum(one.confidence * one.size for one in found)


def _releases(time_s: Array, values: Array) -> tuple[Backwash, ...]:
    """Sudden falls after a slow rise, with the averaging that brings out the most of them."""
    noise = _white_noise(values)
    values = _without_wild(values, noise)
    guard = max(1, math.ceil(RELEASE_S / usual_spacing_s(time_s)))
    best: tuple[Backwash, ...] = ()
    for side in AVERAGED:
        if values.size < 4 * side + guard:
            break
        found = _falls(time_s, values, _steps(values, side, guard, noise))
        if _total(found) > WORTH_AVERAGING * _total(best):
            best = found
    return best


def _total(found: tuple[Backwash, ...]) -> float:
    return sum(one.confidence for one in found)


def _white_noise(values: Array) -> float:
    # a second difference knows neither slope nor level: its spread is that of the noise
    bend = values[2:] - 2.0 * values[1:-1] + values[:-2]
    return 1.4826 * float(np.median(np.abs(bend - np.median(bend)))) / math.sqrt(6.0)


def _without_wild(values: Array, noise: float) -> Array:
    """Single wild readings replaced by the middle one of three; steps stay as they are."""
    calm = median_filter(values, size=3, mode="nearest")
    return np.where(np.abs(values - calm) > WILD * noise, calm, values)


def _steps(values: Array, side: int, guard: int, white: float) -> _Steps:
    means = _running_mean(values, side)
    before, after = means[: -(side + guard)], means[side + guard :]
    contrast = after - before
    spread = 1.4826 * float(np.median(np.abs(contrast - np.median(contrast))))
    return _Steps(side, guard, before, after, max(white * math.sqrt(2.0 / side), spread, 1e-12))


def _running_mean(values: Array, side: int) -> Array:
    middle = values.mean()
    total = np.concatenate([[0.0], np.cumsum(values - middle)])
    return np.asarray((total[side:] - total[:-side]) / side + middle, dtype=np.float64)


def _falls(time_s: Array, values: Array, steps: _Steps) -> tuple[Backwash, ...]:
    falls = _peaks(-steps.contrast, steps)
    if falls.size == 0:
        return ()
    shares = _risen_shares(steps, falls, _peaks(steps.contrast, steps))
    kept, shares = falls[shares >= LEAST_CONFIDENCE], shares[shares >= LEAST_CONFIDENCE]
    if kept.size == 0:
        return ()
    sizes = -steps.contrast[kept]
    usual = float(np.median(sizes))
    usual_gap_s = float(np.median(np.diff(time_s[kept]))) if kept.size > 2 else math.inf
    made = []
    for place, share, size in zip(kept, shares, sizes, strict=True):
        at_s, within_s = _moment(time_s, values, int(place), steps)
        alike = ndtr((min(size, usual**2 / size) - 0.5 * usual) / steps.noise)
        confidence = float(alike * share)
        if within_s < usual_gap_s / 2.0 and confidence >= LEAST_CONFIDENCE:
            made.append(Backwash(at_s, within_s, confidence, float(size)))
    return tuple(made)


def _peaks(heights: Array, steps: _Steps) -> Places:
    """Places of the greatest steps, no two closer than the readings they are made of."""
    apart = steps.side + steps.guard
    order = np.argsort(-heights, kind="stable")
    order = order[heights[order] > LEAST_STEP * steps.noise]
    free = np.ones(heights.size, dtype=bool)
    found = []
    for place in order:
        if free[place]:
            found.append(place)
            free[max(0, place - apart) : place + apart + 1] = False
    return np.sort(np.array(found, dtype=np.intp))


def _risen_shares(steps: _Steps, falls: Places, rises: Places) -> Array:
    """Part of each fall that had risen slowly since the release before it, at most one.

    Sudden rises, and falls that turn out to be no release, are taken out of the series: a pump
    that stops and starts again neither makes a charge nor ends one.
    """
    contrast, apart = steps.contrast, steps.side + steps.guard
    jumped = np.zeros(contrast.size)
    jumped[rises] = contrast[rises]
    jumped = np.cumsum(jumped)
    before, after = steps.before - jumped, steps.after - jumped
    shares = np.empty(falls.size)
    begin = 0
    for index, place in enumerate(falls):
        stop = max(begin + 1, int(place) - apart)  # before this fall begins
        low = float(np.min(after[begin:stop]))
        if begin == 0:
            low = min(low, float(before[0]))
        rise = float(before[place]) - low
        shares[index] = min(1.0, max(0.0, rise / -float(contrast[place])))
        if shares[index] >= LEAST_CONFIDENCE:
            begin = int(place)
            continue
        before[place:] -= contrast[place]
        after[place:] -= contrast[place]
        after[max(begin + 1, int(place) - apart) : place] = np.inf  # half fallen
    later = falls[1:][shares[1:] >= LEAST_CONFIDENCE]
    if later.size:  # the first charge may have begun before the series did
        whole = float(np.median(-contrast[later]))
        if abs(-float(contrast[falls[0]]) - whole) <= 0.5 * whole:
            shares[0] = max(shares[0], FIRST_SHARE)
    return shares


def _moment(time_s: Array, values: Array, place: int, steps: _Steps) -> tuple[float, float]:
    """Time of the steepest fall within the guard, and its uncertainty."""
    begin = place + steps.side - 1
    final = min(begin + steps.guard + 1, values.size - 1)
    falls = values[begin:final] - values[begin + 1 : final + 1]
    steepest = begin + int(np.argmax(falls))
    early, late = float(time_s[steepest]), float(time_s[steepest + 1])
    blur = 0.0 if steps.side == 1 else 0.5 * steps.side * usual_spacing_s(time_s)
    return 0.5 * (early + late), 0.5 * (late - early) + blur + 0.5 * RELEASE_S


def _roars(time_s: Array, values: Array) -> tuple[Backwash, ...]:
    """Find times in which the sound stands well above its background."""
    spacing = usual_spacing_s(time_s)
    several = max(1, int(ROAR_S[0] / spacing))
    if several > 1 or spacing <= ROAR_S[0]:
        values = _without_wild(values, _white_noise(values))
    values = uniform_filter1d(values, several, mode="nearest")
    width = min(values.size, 2 * max(2, round(0.5 * BACKGROUND_S / spacing)) + 1)
    above = values - median_filter(values, size=width, mode="nearest")
    noise = max(1.4826 * float(np.median(np.abs(above))), 1e-12)
    least = LOUD if spacing <= ROAR_S[0] else LOUD_ALONE
    loud = above > max(ROAR_DB, least * noise)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], loud.astype(np.int8), [0]])))
    runs = _joined(edges.reshape(-1, 2), time_s)
    heights = [float(np.median(above[a:b][loud[a:b]])) for a, b in runs]
    usual = float(np.median(heights)) if heights else 0.0
    made = []
    for (first, stop), height in zip(runs, heights, strict=True):
        lasted = float(time_s[stop - 1] - time_s[first]) + spacing
        confidence = _roar_confidence(lasted, height / usual, height / noise, spacing)
        if confidence >= LEAST_CONFIDENCE:
            at_s = float(time_s[first]) + 0.5 * (RELEASE_S - spacing)
            within_s = 0.5 * (several * spacing + RELEASE_S)
            made.append(Backwash(at_s, within_s, confidence, height))
    return tuple(made)


def _joined(runs: Places, time_s: Array) -> list[tuple[int, int]]:
    """Join runs of loud readings that are closer than a release."""
    joined: list[tuple[int, int]] = []
    for first, stop in runs:
        if joined and time_s[first] - time_s[joined[-1][1] - 1] <= RELEASE_S:
            joined[-1] = (joined[-1][0], int(stop))
        else:
            joined.append((int(first), int(stop)))
    return joined


def _roar_confidence(lasted_s: float, of_usual: float, of_noise: float, spacing_s: float) -> float:
    shortest, longest = ROAR_S
    if lasted_s < shortest or lasted_s > max(longest, 2.0 * spacing_s):
        return 0.0
    heard = float(ndtr(of_noise - LOUD + 1.0))
    alike = math.exp(-0.5 * (math.log(of_usual) / 0.5) ** 2)
    whole = 1.0 if spacing_s <= shortest else 0.8  # a single reading may be anything loud
    return heard * alike * whole
