"""Where the readings stand: the newest of each water quantity, and the toxic part of ammonia.

A reading is an interval; what follows from several is the interval that all their corners span.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from tailrace.estimation.standing import Standing
from tailrace.estimation.unmeasured import computed_ranges
from tailrace.husbandry.limits import Limit, limits
from tailrace.observations import Entry, Interval
from tailrace.quantities import Amount
from tailrace.water.activity import ionic_strength_griffin_jurinak_1973_mol_m3
from tailrace.water.ammonia import un_ionised_ammonia_frac

WATER = (
    "oxygen",
    "un_ionised_ammonia",
    "total_ammonia",
    "nitrite",
    "ph",
    "water_temperature",
    "alkalinity",
    "nitrate",
)
ASSUMED_IONIC_STRENGTH_MOL_M3 = 5.0
FRESH_S = {"oxygen": 43200.0, "water_temperature": 86400.0 * 2}
USUALLY_FRESH_S = 86400.0 * 7


@dataclass(frozen=True, slots=True)
class Standard:
    """A limit with how the water stands against it.

    Parameters
    ----------
    limit
        The limit, with its source.
    surely
        True when the whole interval lies beyond it, False when a part does.
    """

    limit: Limit
    surely: bool


@dataclass(frozen=True, slots=True)
class Quality:
    """One water quantity now.

    Parameters
    ----------
    subject
        Key of the subject.
    interval
        What was measured, or computed from what was measured; None when never measured.
    entries
        Ids of the entries behind it.
    age_s
        Age of the oldest entry behind it.
    computed
        Whether it is computed from other readings, such as the toxic part of ammonia.
    range_if_not_measured
        Computed range of a quantity never measured.
    beyond
        The gravest limit passed, if any.
    limits
        All limits for this stock.
    basis_known
        False when the reading has two meanings.
    """

    subject: str
    interval: Interval | None
    entries: tuple[str, ...]
    age_s: float
    computed: bool
    range_if_not_measured: Amount | None
    beyond: Standard | None
    limits: tuple[Limit, ...]
    basis_known: bool = True

    @property
    def fresh(self) -> bool:
        """Whether the reading is young enough to act on."""
        limit = FRESH_S.get(self.subject, USUALLY_FRESH_S)
        return self.interval is not None and self.age_s <= limit


def water_quality(now: Standing) -> tuple[Quality, ...]:
    """Set the newest readings against the limits for this stock.

    Parameters
    ----------
    now
        How things stand.

    Returns
    -------
    tuple of Quality
        One for each of `WATER`, in that order.
    """
    species = tuple(dict.fromkeys(lot.species for lot in now.site.stock))
    computed = computed_ranges(now)
    return tuple(_quality(now, subject, species, computed) for subject in WATER)


def newest(now: Standing, subject: str) -> Entry | None:
    """Return the newest entry of a subject that has a value.

    Parameters
    ----------
    now
        How things stand.
    subject
        Key of the subject.

    Returns
    -------
    Entry or None
        The entry.
    """
    return next((e for e in now.of(subject) if e.interval is not None), None)


def _quality(
    now: Standing, subject: str, species: tuple[str, ...], computed: dict[str, Amount]
) -> Quality:
    entries, interval = _measured(now, subject)
    known_limits = tuple(
        limit
        for name in species
        for limit in limits(name)
        if limit.quantity == subject and _usable(limit, now)
    )
    return Quality(
        subject=subject,
        interval=interval,
        entries=tuple(entry.id for entry in entries),
        age_s=max((now.age_s(entry) for entry in entries), default=0.0),
        computed=len(entries) > 1,
        range_if_not_measured=None if interval else computed.get(subject),
        beyond=_gravest(interval, known_limits) if interval else None,
        limits=known_limits,
        basis_known=all(entry.basis_known for entry in entries),
    )


def _measured(now: Standing, subject: str) -> tuple[tuple[Entry, ...], Interval | None]:
    entry = newest(now, subject)
    if subject == "un_ionised_ammonia":
        total = newest(now, "total_ammonia")
        if entry is None or (total is not None and total.taken_at > entry.taken_at):
            return _un_ionised(now, total)
    return ((entry,), entry.interval) if entry else ((), None)


def _un_ionised(now: Standing, total: Entry | None) -> tuple[tuple[Entry, ...], Interval | None]:
    ph, temperature = newest(now, "ph"), newest(now, "water_temperature")
    if total is None or ph is None or temperature is None:
        return (), None
    assert total.interval is not None
    assert ph.interval is not None
    assert temperature.interval is not None
    ionic = ionic_strength(now)
    shares = [
        un_ionised_ammonia_frac(acidity, degc, ionic, outside="extrapolate")
        for acidity, degc in product(_ends(ph.interval), _ends(temperature.interval))
    ]
    low = total.interval.low * min(shares)
    return (total, ph, temperature), Interval(low, total.interval.high * max(shares))


def ionic_strength(now: Standing) -> float:
    """Return the ionic strength from the newest conductivity, else the one assumed.

    Parameters
    ----------
    now
        How things stand.

    Returns
    -------
    float
        Ionic strength [mol/m3].
    """
    entry = newest(now, "conductivity")
    if entry is None or entry.interval is None:
        return ASSUMED_IONIC_STRENGTH_MOL_M3
    return ionic_strength_griffin_jurinak_1973_mol_m3(entry.interval.middle)


def _ends(interval: Interval) -> Iterator[float]:
    yield interval.low
    yield interval.high


def _usable(limit: Limit, now: Standing) -> bool:
    """Tell whether a limit holds at the pH of the water, both ends of its reading."""
    entry = newest(now, "ph")
    if entry is None or entry.interval is None:
        return limit.holds_at(None)
    return all(limit.holds_at(ph) for ph in _ends(entry.interval))


_ORDER = {"danger": 0, "act": 1, "good": 2}


def _gravest(interval: Interval, known: tuple[Limit, ...]) -> Standard | None:
    passed = []
    for limit in known:
        high = limit.side == "high"
        worst = interval.high if high else interval.low
        best = interval.low if high else interval.high
        over = worst > limit.value if high else worst < limit.value
        if over:
            surely = best > limit.value if high else best < limit.value
            passed.append(Standard(limit, surely))
    return min(passed, key=lambda s: (_ORDER[s.limit.level], not s.surely), default=None)
