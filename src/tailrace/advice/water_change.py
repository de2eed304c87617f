"""What a water change does: every quantity mixed with the make-up water's own chemistry.

Mixing is conservative for ammonia, nitrite, nitrate, alkalinity, inorganic carbon and heat; pH and
the toxic part of ammonia are worked out anew from what is mixed. It is the water just after the
change; what feed and filter do afterwards is the forecast's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product

from tailrace.errors import InputError
from tailrace.estimation.quality import ionic_strength
from tailrace.estimation.today import Picture
from tailrace.quantities import Amount
from tailrace.site import SourceWater, Treatment
from tailrace.water.ammonia import un_ionised_ammonia_frac
from tailrace.water.carbonate import dic_from_alkalinity_and_ph_mol_m3, ph_from_alkalinity_and_dic

MOST_SHARE = 0.5
USUAL_SHARE = 0.25
SAFE_STEP_K = 2.0


@dataclass(frozen=True, slots=True)
class Changed:
    """One quantity before and after.

    Parameters
    ----------
    subject
        Key of the subject.
    before, after
        Amounts; None where it cannot be said.
    computed
        Whether the value before is computed because it was never measured.
    why_not
        Why there is no value after; empty when there is one.
    """

    subject: str
    before: Amount | None
    after: Amount | None
    computed: bool = False
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class WaterChange:
    """A water change and what it does.

    Parameters
    ----------
    share, volume_m3
        Share and volume of the loop's water.
    changed
        Quantities before and after.
    temperature_step
        Change of the water's temperature if the new water is not warmed or cooled first.
    step_too_large
        Whether that step is more than fish should stand at once.
    treatment
        Disinfectant that the make-up water is taken to hold.
    entries
        Ids of the entries behind it.
    """

    share: float
    volume_m3: float
    changed: tuple[Changed, ...]
    temperature_step: Amount | None
    step_too_large: bool
    treatment: Treatment
    entries: tuple[str, ...]


def water_change(seen: Picture, share: float) -> WaterChange:
    """Work out what changing a share of the water does.

    Parameters
    ----------
    seen
        Everything known about now.
    share
        Share of the loop's water.

    Returns
    -------
    WaterChange
        Every quantity before and after.

    Raises
    ------
    InputError
        The share is not above 0, or above half of the water.
    """
    if not 0.0 < share <= MOST_SHARE:
        message = (
            f"a change of {100 * share:.3g} % of the water is not worked out; give a share above "
            "0 and up to 50 %, and change more in steps with a test between."
        )
        raise InputError(message)
    source = seen.now.site.source_water
    step = _step(seen, share, source)
    return WaterChange(
        share=share,
        volume_m3=share * seen.now.site.volume_m3,
        changed=tuple(_changed(seen, share, source)),
        temperature_step=step,
        step_too_large=step is not None and abs(step.p50) > SAFE_STEP_K,
        treatment=source.treatment.taken_as,
        entries=tuple(dict.fromkeys(e for q in seen.quality for e in q.entries)),
    )


def _step(seen: Picture, share: float, source: SourceWater) -> Amount | None:
    if source.temperature_degc is None:
        return None
    fall = source.temperature_degc - seen.day.water_temperature_degc
    return Amount("temperature_step", share * fall)


def _changed(seen: Picture, share: float, source: SourceWater) -> Iterator[Changed]:
    incoming = {
        "total_ammonia": 0.0,
        "nitrite": 0.0,
        "nitrate": source.nitrate_n_g_m3,
        "alkalinity": source.alkalinity_eq_m3,
    }
    for subject, brought in incoming.items():
        before, computed = _before(seen, subject)
        if before is None or brought is None:
            why = "not known of the make-up water" if brought is None else "not measured"
            yield Changed(subject, before, None, computed, why)
            continue
        after = _spread(subject, [(1.0 - share) * end + share * brought for end in _ends(before)])
        yield Changed(subject, before, after, computed)
    yield from _acidity(seen, share, source)


def _before(seen: Picture, subject: str) -> tuple[Amount | None, bool]:
    quality = seen.of(subject)
    if quality.interval is not None:
        low, high = quality.interval.low, quality.interval.high
        middle = quality.interval.middle
        return Amount(subject, middle, low, high if high < float("inf") else 2.0 * low), False
    return quality.range_if_not_measured, True


def _ends(amount: Amount) -> tuple[float, float, float]:
    low = amount.p50 if amount.p05 is None else amount.p05
    high = amount.p50 if amount.p95 is None else amount.p95
    return low, amount.p50, high


def _spread(subject: str, values: list[float]) -> Amount:
    """Sum up corner values by their middle one and their ends."""
    ordered = sorted(values)
    return Amount(subject, ordered[len(ordered) // 2], ordered[0], ordered[-1])


def _acidity(seen: Picture, share: float, source: SourceWater) -> Iterator[Changed]:
    """Yield pH and the toxic part after mixing alkalinity and inorganic carbon."""
    (ph, ph_computed), (alkalinity, _) = (_before(seen, k) for k in ("ph", "alkalinity"))
    (tan, tan_computed), (toxic, _) = (
        _before(seen, k) for k in ("total_ammonia", "un_ionised_ammonia")
    )
    if source.ph is None or source.alkalinity_eq_m3 is None or source.temperature_degc is None:
        why = "pH, alkalinity or temperature of the make-up water is not known"
        yield Changed("ph", ph, None, ph_computed, why)
        yield Changed("un_ionised_ammonia", toxic, None, tan_computed, why)
        return
    assert ph is not None
    assert alkalinity is not None
    assert tan is not None
    mixed = _mixer(seen, share, source, source.ph, source.alkalinity_eq_m3)
    corners = [
        mixed(eq, acidity, n)
        for eq, acidity, n in product(_ends(alkalinity), _ends(ph), _ends(tan))
    ]
    yield Changed("ph", ph, _spread("ph", [c[0] for c in corners]), ph_computed)
    after = _spread("un_ionised_ammonia", [c[1] for c in corners])
    yield Changed("un_ionised_ammonia", toxic, after, tan_computed or ph_computed)


def _mixer(
    seen: Picture, share: float, source: SourceWater, source_ph: float, source_eq_m3: float
) -> Callable[[float, float, float], tuple[float, float]]:
    ionic, warm = ionic_strength(seen.now), seen.day.water_temperature_degc
    cold = source.temperature_degc if source.temperature_degc is not None else warm
    brought = dic_from_alkalinity_and_ph_mol_m3(source_eq_m3, source_ph, 0.0, cold, ionic)
    degc = (1.0 - share) * warm + share * cold

    def mixed(alkalinity: float, ph: float, ammonia: float) -> tuple[float, float]:
        held = dic_from_alkalinity_and_ph_mol_m3(alkalinity, ph, ammonia, warm, ionic)
        left = (1.0 - share) * ammonia
        after = ph_from_alkalinity_and_dic(
            (1.0 - share) * alkalinity + share * source_eq_m3,
            (1.0 - share) * held + share * brought,
            left,
            degc,
            ionic,
        )
        return after, left * un_ionised_ammonia_frac(after, degc, ionic)

    return mixed
