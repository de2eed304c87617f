"""The water ahead: an ensemble run through the log and beyond it, with bands.

Each member is one loop that this one may be: parameters drawn from their priors, slow noise on
both oxidation rates, load and carbon dioxide, a kit that is off by its own factor. Members run
through the last days of the log; at a reading each is redrawn inside the reading's interval, and
what that moves is booked in the engine's redraw ledger. Only the air per backwash is learnt.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from tailrace.estimation.bands import DAY_S, FORECAST, Array, Band, Crossing, Forecast
from tailrace.estimation.happenings import Happenings, happenings
from tailrace.estimation.learnt import air_per_backwash
from tailrace.estimation.priors import draw
from tailrace.estimation.today import SEED, Picture
from tailrace.observations import Entry
from tailrace.quantities import from_draws
from tailrace.simulation.assemble import Loop, assemble
from tailrace.simulation.ensemble import Ensemble, Noise, member_streams
from tailrace.simulation.parameters import parameter_table

MEMBERS = 200
LEARN_S = 7 * 86400.0
AHEAD_S = 7 * 86400.0
SHOWN_BEFORE_S = 2 * 86400.0
GRID_S = 3600.0
SHOWN_EACH_S = 3 * 3600.0
CROSSING_SHARE = 0.05
TOLERANCE = 1e-3
# Slow model error: correlation over a day for 20 days, and standard deviations of logarithms.
_PHI = math.exp(-1.0 / 20.0)
_NOISES = (Noise.AOB, Noise.NOB, Noise.LOAD, Noise.STRIPPING)
_NOISE_SD = np.array([0.38, 0.60, 0.30, 0.65])
_DRIFT = 0.6  # alkalinity drift over the load in equivalents, for a unit of the last noise
GROSS_ERROR = 0.03
# Reading error of a kit or meter: relative, and at least this much in the inside unit.
_KIT_SD: dict[str, tuple[float, float]] = {
    "total_ammonia": (0.12, 0.05),
    "nitrite": (0.12, 0.03),
    "nitrate": (0.15, 2.0),
    "oxygen": (0.04, 0.2),
    "alkalinity": (0.06, 0.1),
    "ph": (0.0, 0.08),
}
_BIASED = ("total_ammonia", "nitrite", "nitrate")
_TOP_STEP = 6.0  # an open top step is closed at six times its value
_PRIORS = (
    "aob_growth_per_s",
    "nob_growth_per_s",
    "bead_film_m_s",
    "wall_film_m_s",
    "scrub_more_frac",
    "fine_capture_per_m",
    "coarse_frac",
    "solids_yield_kg_kg",
    "smothering_frac",
    "hydrolysis_per_s",
    "excretion_kg_kg",
    "aeration_per_s",
    "carbon_dioxide_exchange_frac",
    "crop_uptake_n_g_m2_s",
)


def forecast(seen: Picture, *, seed: int = SEED, members: int = MEMBERS) -> Forecast:
    """Run an ensemble through the log and beyond it.

    Parameters
    ----------
    seen
        Everything known about now.
    seed
        Seed; each member's stream derives from it and the member.
    members
        Number of members.

    Returns
    -------
    Forecast
        Bands, crossings, or in words why there are none.
    """
    now = seen.now
    since = now.at - timedelta(seconds=LEARN_S)
    happened = happenings(now, seen.day, seen.sludge, since=since, ahead_s=AHEAD_S)
    loop = replace(
        assemble(
            now.site,
            water_temperature_degc=seen.day.water_temperature_degc,
            air_temperature_degc=seen.day.air_temperature_degc,
        ),
        setting=happened.setting,
    )
    run = _Run(seen, loop, happened, seed, members)
    run.begin()
    times, outputs, used = run.all_the_way()
    return _sum_up(seen, times, outputs, run, used)


class _Run:
    """One ensemble on its way through the log."""

    def __init__(
        self, seen: Picture, loop: Loop, happened: Happenings, seed: int, members: int
    ) -> None:
        self.seen, self.happened, self.seed = seen, happened, seed
        self._streams = member_streams(seed, members)
        self._ensemble = Ensemble(loop, members, parameters=self._parameters(loop, members))
        days = math.ceil((LEARN_S + AHEAD_S) / DAY_S) + 1
        self._noise = np.stack([r.standard_normal((days, len(_NOISES))) for r in self._streams])
        self._slow = _NOISE_SD * self._normals(len(_NOISES))
        self._bias = {k: np.exp(0.12 * self._normals(1)[:, 0]) for k in _BIASED}
        ration = 1e3 * seen.now.site.ration_kg / DAY_S
        self._load_eq_s = ration * 0.035 * 0.9 / 14.0 / loop.volume_m3

    def _normals(self, count: int) -> Array:
        return np.stack([rng.standard_normal(count) for rng in self._streams])

    def _parameters(self, loop: Loop, members: int) -> NDArray[Any]:
        site = self.seen.now.site
        table = parameter_table(loop.parameters, members)
        for name, values in draw(_PRIORS, count=members, seed=self.seed).items():
            table[name] = np.clip(values, 0.0, 0.95) if name.endswith("_frac") else values
        low, high = site.evaporation_low_m3_s, site.evaporation_high_m3_s
        share = draw(["feed_place"], count=members, seed=self.seed)["feed_place"]
        table["evaporation_m3_s"] = low + share * (high - low)
        learnt = air_per_backwash(self.seen.now, self.seen.air.nominal)
        spread = draw(["unit_normal"], count=members, seed=self.seed)["unit_normal"]
        table["air_per_backwash_factor"] = learnt.factor * np.exp(learnt.log_sd * spread)
        table["back_pressure_pa"] = draw(["back_pressure"], count=members, seed=self.seed)[
            "back_pressure"
        ]
        return table

    def begin(self) -> None:
        """Spread the water of the first moment: nobody knows it before the first reading."""
        for name, values in draw(
            ["start_total_ammonia", "start_nitrite", "start_nitrate"],
            count=len(self._ensemble),
            seed=self.seed,
        ).items():
            self._ensemble.set_quantity(name.removeprefix("start_"), values)
        alkalinity = self.seen.of("alkalinity").range_if_not_measured
        if alkalinity is not None and alkalinity.p05 is not None and alkalinity.p95 is not None:
            share = draw(["feed_place"], count=len(self._ensemble), seed=self.seed + 1)
            width = alkalinity.p95 - alkalinity.p05
            values = alkalinity.p05 + share["feed_place"] * width
            self._ensemble.set_quantity("alkalinity", values)

    def all_the_way(self) -> tuple[Array, Array, tuple[str, ...]]:
        """Advance through readings and noise to the end; return times, outputs and readings."""
        readings = _by_hour(self.seen, self.happened.since)
        stops = sorted({*readings, *np.arange(DAY_S, LEARN_S + AHEAD_S + 1.0, DAY_S)})
        shown_from = LEARN_S - SHOWN_BEFORE_S
        times, outputs, used = [], [], []
        for stop in stops:
            made = self._ensemble.advance(
                stop, self.happened.schedule, every_s=GRID_S, tolerance=TOLERANCE
            )
            keep = (made.times_s >= shown_from) & (made.times_s < stop)
            times.append(made.times_s[keep])
            outputs.append(np.stack([made[q][:, keep] for q in FORECAST]))
            for entry in readings.get(stop, ()):
                self._redraw(entry)
                used.append(entry.id)
            if stop % DAY_S == 0.0:
                self._drift(int(stop // DAY_S))
        return np.concatenate(times), np.concatenate(outputs, axis=2), tuple(used)

    def _drift(self, day: int) -> None:
        """Let the slow noise wander by a day."""
        fresh = _NOISE_SD * self._noise[:, day - 1]
        self._slow = _PHI * self._slow + math.sqrt(1.0 - _PHI**2) * fresh
        for place, noise in enumerate(_NOISES):
            self._ensemble.set_noise(noise, np.exp(self._slow[:, place]))
        self._ensemble.set_noise(Noise.DRIFT, _DRIFT * self._slow[:, 3] * self._load_eq_s)

    def _redraw(self, entry: Entry) -> None:
        """Redraw a quantity of every member inside what was read, near its own prediction."""
        subject = entry.subject
        predicted = self._ensemble.measured(subject)
        relative, least = _KIT_SD[subject]
        u = np.stack([rng.random(4) for rng in self._streams])
        low, high = self._meaning(entry, u[:, 0])
        bias = self._bias.get(subject, np.ones(len(predicted)))
        error = np.maximum(relative * np.abs(predicted), least)
        inside = _truncated(predicted * bias, error, low, high, u[:, 1])
        error = np.maximum(relative * np.abs(inside), least)
        truth = inside / bias + error * ndtri(np.clip(u[:, 2], 1e-6, 1.0 - 1e-6))
        kept = np.where(u[:, 3] < GROSS_ERROR, predicted, truth)
        floor, top = (4.0, 10.5) if subject == "ph" else (0.0, np.inf)
        sound = np.isfinite(kept)  # a member that got stuck is left out at the end
        kept = np.where(sound, kept, np.median(kept[sound]) if sound.any() else 7.0)
        self._ensemble.set_quantity(subject, np.clip(kept, floor, top))

    def _meaning(self, entry: Entry, u: Array) -> tuple[Array, Array]:
        """Let each member believe one meaning of the reading."""
        count = len(entry.meanings)
        chosen = np.minimum((u * count).astype(int), count - 1)
        lows = np.array([m.interval.low for m in entry.meanings])[chosen]
        highs = np.array([m.interval.high for m in entry.meanings])[chosen]
        return lows, np.where(np.isinf(highs), _TOP_STEP * np.maximum(lows, 1e-3), highs)


def _truncated(mean: Array, sd: Array, low: Array, high: Array, u: Array) -> Array:
    """Draw from normal distributions cut off at both ends."""
    below, above = ndtr((low - mean) / sd), ndtr((high - mean) / sd)
    drawn = mean + sd * ndtri(np.clip(below + u * (above - below), 1e-12, 1.0 - 1e-12))
    return np.asarray(np.clip(drawn, low, high))


def _by_hour(seen: Picture, since: datetime) -> dict[float, list[Entry]]:
    """Group the readings that members are redrawn at by the full hour nearest to each."""
    found: dict[float, list[Entry]] = {}
    for entry in seen.now.entries:
        at = (entry.taken_at - since).total_seconds()
        if entry.subject in _KIT_SD and entry.meanings and at > 0.0:
            hour = max(GRID_S, GRID_S * round(at / GRID_S))
            found.setdefault(min(hour, LEARN_S), []).append(entry)
    return found


def _sum_up(
    seen: Picture, times: Array, outputs: Array, run: _Run, used: tuple[str, ...]
) -> Forecast:
    now = seen.now
    sound = np.isfinite(outputs).all(axis=(0, 2))
    base = Forecast(
        at=now.at,
        times=(),
        bands=(),
        crossings=(),
        members=int(sound.sum()),
        seed=run.seed,
        assumed=run.happened.assumed,
        entries=used,
    )
    if sound.sum() < max(20, 0.5 * sound.size):
        why = "too many members of the ensemble could not be followed; look at the site's sizes"
        return replace(base, failed=why)
    outputs = outputs[:, sound]
    ahead = times - LEARN_S
    shown = np.isclose(ahead % SHOWN_EACH_S, 0.0)
    bands = tuple(_bands(outputs, ahead, shown))
    return replace(
        base,
        times=tuple(now.at + timedelta(seconds=float(t)) for t in ahead[shown]),
        bands=bands,
        crossings=tuple(_crossings(seen, outputs[:, :, ahead >= 0.0], ahead[ahead >= 0.0])),
    )


def _bands(outputs: Array, ahead: Array, shown: NDArray[np.bool_]) -> Iterator[Band]:
    for place, subject in enumerate(FORECAST):
        p05, p50, p95 = np.quantile(outputs[place][:, shown], [0.05, 0.5, 0.95], axis=0)
        for array in (p05, p50, p95):
            array.setflags(write=False)
        after = {}
        for days in (3.0, 7.0):
            at = int(np.argmin(np.abs(ahead - days * DAY_S)))
            after[days * DAY_S] = from_draws(subject, outputs[place, :, at].tolist())
        yield Band(subject, p05, p50, p95, after)


def _crossings(seen: Picture, outputs: Array, ahead: Array) -> list[Crossing]:
    found = []
    for place, subject in enumerate(FORECAST):
        limits = [] if subject == "clarity" else seen.of(subject).limits
        for limit in limits:
            if limit.level == "good":
                continue
            beyond = outputs[place] > limit.value
            if limit.side == "low":
                beyond = outputs[place] < limit.value
            # Members beyond it now are the readings' matter; those that get there are ours.
            ever = np.logical_or.accumulate(beyond, axis=1).mean(axis=0)
            gained = ever - ever[0]
            if gained[-1] >= CROSSING_SHARE:
                first = float(ahead[int(np.argmax(gained >= CROSSING_SHARE))])
                found.append(Crossing(limit, first, float(gained[-1])))
    return sorted(found, key=lambda c: (c.first_s, -c.share))
