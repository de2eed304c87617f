"""Calculators on water as it is: oxygen, ammonia, carbonate, mixing.

Each takes quantities as typed and returns an `Answer`. The formulas are in `tailrace.water`;
`tailrace.operations.dose_calculators` holds what is put into it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from tailrace.errors import InputError
from tailrace.husbandry import limits, species
from tailrace.operations.calculators import (
    ANIMALS,
    Answer,
    Figure,
    Sentence,
    fixed,
    spread,
    typed,
)
from tailrace.quantities import subjects
from tailrace.units import Quantity
from tailrace.water.activity import ionic_strength_griffin_jurinak_1973_mol_m3
from tailrace.water.air import pressure_at_altitude_pa_abs
from tailrace.water.ammonia import un_ionised_ammonia_frac, un_ionised_ammonia_n_g_m3
from tailrace.water.chemistry import Water, balanced
from tailrace.water.exchange import after_batch_exchange_g_m3, batch_exchanges_needed
from tailrace.water.molar_masses import CO2_G_MOL
from tailrace.water.oxygen import oxygen_saturation_frac, oxygen_saturation_g_m3
from tailrace.water.speciation import Speciation, speciate_at_carbon_dioxide, speciate_at_ph

_WEATHER_FRAC = 0.03  # how far weather moves the pressure of the air: judgement
_PH_ERROR = 0.1  # what a good meter or a colour chart leaves open: judgement
OPEN_AIR_PA = 42.0  # carbon dioxide in open air, 420 ppm


def oxygen(
    temperature: str,
    *,
    reading: str | None = None,
    altitude: str | None = None,
    pressure: str | None = None,
    salinity: str = "0 ppt",
) -> Answer:
    """Answer how much oxygen the water holds when it is full.

    Parameters
    ----------
    temperature
        Water temperature, as typed.
    reading
        Dissolved oxygen measured, as typed.
    altitude
        Altitude of the site, as typed.
    pressure
        Air pressure at the site, as typed; it goes before the altitude.
    salinity
        Salinity, as typed.

    Returns
    -------
    Answer
        Oxygen at saturation, and the share of it that was measured.

    Raises
    ------
    InputError
        A quantity cannot be read.
    OutsideRangeError
        A quantity lies outside the range of the equation.
    """
    warm = typed(temperature, "_degc", "water temperature")
    salt = typed(salinity, "_g_kg", "salinity")
    air = _air(altitude, pressure)
    full = spread(oxygen_saturation_g_m3, warm, salt, air)
    figures = [Figure("oxygen when full", *full, "_g_m3")]
    given = [("water temperature", temperature), ("salinity", salinity)]
    if reading is not None:
        measured = typed(reading, "_g_m3", "dissolved oxygen")
        share = spread(oxygen_saturation_frac, measured, warm, salt, air)
        figures.append(Figure("share of it measured", *share, "_frac"))
        given.append(("dissolved oxygen", reading))
    given += [(n, t) for n, t in (("altitude", altitude), ("air pressure", pressure)) if t]
    return Answer(
        question="How much oxygen does the water hold when it is full?",
        given=tuple(given),
        figures=tuple(figures),
        said=(),
        uncertainty=(
            "The equation is good to 0.1 %. Without a reading of the air pressure the range "
            "allows 3 % for the weather. Meters are good to 0.2 mg/L at best."
        ),
        sources=("benson_krause_1984", *(() if pressure else ("us_standard_atmosphere_1976",))),
        cautions=("Little oxygen harms fish within minutes to hours: add air first.",),
    )


def _air(altitude: str | None, pressure: str | None) -> Quantity:
    if pressure is not None:
        return typed(pressure, "_pa_abs", "air pressure")
    height = typed(altitude or "0 m", "_m", "altitude")
    low, high = spread(pressure_at_altitude_pa_abs, height)
    return Quantity(low * (1.0 - _WEATHER_FRAC), high * (1.0 + _WEATHER_FRAC), "", "")


def ammonia(
    total: str,
    *,
    ph: str,
    temperature: str,
    conductivity: str | None = None,
    fish: str | None = None,
) -> Answer:
    """Answer how much of the total ammonia is its toxic part.

    Parameters
    ----------
    total
        Total ammonia, as typed.
    ph
        pH, as typed.
    temperature
        Water temperature, as typed.
    conductivity
        Conductivity at 25 degC, as typed.
    fish
        Key of the species, to set the answer against its limits.

    Returns
    -------
    Answer
        The toxic part and its share; for a fish, which of its limits are passed.

    Raises
    ------
    InputError
        A quantity cannot be read.
    NotKnownError
        The species is not in the table.
    OutsideRangeError
        A quantity lies outside the range of the equation.
    """
    all_of_it = typed(total, "_n_g_m3", "total ammonia")
    acid = _widened(typed(ph, "", "pH"))
    warm = typed(temperature, "_degc", "water temperature")
    ions = _ions(conductivity)
    part = spread(un_ionised_ammonia_n_g_m3, all_of_it, acid, warm, ions)
    share = spread(un_ionised_ammonia_frac, acid, warm, ions)
    given = [("total ammonia", total), ("pH", ph), ("water temperature", temperature)]
    given += [("conductivity", conductivity)] if conductivity else []
    said, used = _against(fish, part) if fish else ((), ())
    return Answer(
        question="How much of the total ammonia is its toxic part?",
        given=(*given, *((("fish", fish),) if fish else ())),
        figures=(
            Figure("toxic part", *part, "_n_g_m3"),
            Figure("share of the total", *share, "_frac"),
        ),
        said=said,
        uncertainty=(
            "The range allows 0.1 in a single pH, which moves the toxic part by about a quarter; "
            "the equation itself is good to 1 %."
        ),
        sources=("emerson_1975", "truesdell_jones_1974", *used),
        cautions=(
            "Too much of it harms fish within hours: feed nothing, add air, change water in "
            "steps; raise no pH while it is high.",
            ANIMALS,
        ),
    )


def _widened(acid: Quantity) -> Quantity:
    if acid.low != acid.high:
        return acid
    return Quantity(max(acid.low - _PH_ERROR, 0.0), acid.high + _PH_ERROR, "", acid.text)


def _ions(conductivity: str | None) -> Quantity:
    if conductivity is None:
        return fixed(0.0)
    found = typed(conductivity, "_s_m", "conductivity")
    low, high = spread(ionic_strength_griffin_jurinak_1973_mol_m3, found)
    return Quantity(low, high, "", "")


def _against(fish: str, part: tuple[float, float]) -> tuple[tuple[Sentence, ...], tuple[str, ...]]:
    said, used = [], []
    words = {"good": "the comfortable range", "act": "where to act today", "danger": "danger"}
    for row in limits(fish):
        if row.quantity != "un_ionised_ammonia" or row.side != "high":
            continue
        verdict = "above" if part[0] > row.value else "below" if part[1] <= row.value else "about"
        why = row.note.removeprefix("as N; ").replace("{", "(").replace("}", ")")
        said.append(
            Sentence(
                f"{verdict} {{}}: {words[row.level]} for {species()[fish].name} ({why})",
                (Figure("limit", row.value, row.value, row.suffix),),
            )
        )
        used.append(row.source)
    return tuple(said), tuple(dict.fromkeys(used))


def carbonate(
    alkalinity: str,
    *,
    ph: str,
    temperature: str,
    calcium: str | None = None,
    magnesium: str | None = None,
) -> Answer:
    """Answer how much carbon dioxide is in the water, and where pH goes in open air.

    Parameters
    ----------
    alkalinity
        Alkalinity, as typed.
    ph
        pH, as typed.
    temperature
        Water temperature, as typed.
    calcium
        Calcium, as typed, counted as itself.
    magnesium
        Magnesium, as typed, counted as itself.

    Returns
    -------
    Answer
        Carbon dioxide, pH once it has left, and whether lime dissolves.

    Raises
    ------
    InputError
        A quantity cannot be read, or no water can have them all.
    """
    buffer = typed(alkalinity, "_eq_m3", "alkalinity")
    acid = _widened(typed(ph, "", "pH"))
    warm = typed(temperature, "_degc", "water temperature")
    ions = _hardness(calcium, magnesium)

    def state(eq_m3: float, at_ph: float, degc: float) -> Speciation:
        return speciate_at_ph(plain_water(eq_m3, degc, ions), at_ph)

    gas = spread(
        lambda *corner: state(*corner).carbon_dioxide_mol_m3 * CO2_G_MOL, buffer, acid, warm
    )
    later = spread(
        lambda eq, degc: speciate_at_carbon_dioxide(plain_water(eq, degc, ions), OPEN_AIR_PA).ph,
        buffer,
        warm,
    )
    figures = [Figure("carbon dioxide", *gas, "_g_m3"), Figure("pH in open air", *later, "")]
    if calcium is not None:
        lime = spread(lambda *c: state(*c).calcite_saturation_index, buffer, acid, warm)
        figures.append(Figure("saturation index of lime", *lime, ""))
    given = (("alkalinity", alkalinity), ("pH", ph), ("water temperature", temperature))
    more = (("calcium", calcium), ("magnesium", magnesium))
    return Answer(
        question="How much carbon dioxide is in the water, and where does pH go in open air?",
        given=(*given, *((name, text) for name, text in more if text)),
        figures=tuple(figures),
        said=("Below 0 on the saturation index lime dissolves; above 0 it settles out.",)
        if calcium is not None
        else (),
        uncertainty=(
            "The range allows 0.1 in a single pH, which moves carbon dioxide by a quarter. Open "
            "air is taken at 420 ppm; a closed house has more, and pH stays lower there. Ions "
            "that were not given are made up by sodium or chloride."
        ),
        sources=("plummer_busenberg_1982", "phreeqc_3"),
        cautions=("Carbon dioxide leaves with air moved through the water; pH rises with it.",),
    )


def _hardness(calcium: str | None, magnesium: str | None) -> dict[str, float]:
    named = {"calcium_g_m3": calcium, "magnesium_g_m3": magnesium}
    return {
        field: typed(text, "_g_m3", field.removesuffix("_g_m3")).middle
        for field, text in named.items()
        if text is not None
    }


def plain_water(alkalinity_eq_m3: float, degc: float, ions: Mapping[str, float]) -> Water:
    """Return a water of which only some things were measured.

    Parameters
    ----------
    alkalinity_eq_m3
        Alkalinity, eq/m3.
    degc
        Water temperature, degC.
    ions
        Fields of a water to what was measured.

    Returns
    -------
    Water
        The water, made neutral by sodium or chloride; its carbon is not yet known.
    """
    return balanced(
        Water(temperature_degc=degc, alkalinity_eq_m3=alkalinity_eq_m3, dic_mol_m3=0.0).changed(
            **ions
        )
    )


def mix(
    subject: str,
    *,
    now: str,
    new: str,
    share: str,
    times: int = 1,
    target: str | None = None,
) -> Answer:
    """Answer where a water change, or some, bring a reading.

    Parameters
    ----------
    subject
        What is mixed, such as ``nitrate``.
    now
        Reading in the loop, as typed.
    new
        Reading of the new water, as typed.
    share
        Share changed each time, as typed.
    times
        How many changes.
    target
        Reading wanted, as typed.

    Returns
    -------
    Answer
        The reading after the changes, and how many reach the target.

    Raises
    ------
    InputError
        A quantity cannot be read, or the subject does not mix by volume.
    """
    known = subjects().get(subject)
    mixes = {"_n_g_m3", "_g_m3", "_eq_m3", "_caco3_g_m3", "_degc"}
    if known is None or known.suffix not in mixes or subject == "un_ionised_ammonia":
        names = ", ".join(
            key
            for key, row in subjects().items()
            if row.suffix in mixes and key not in ("air_temperature", "un_ionised_ammonia")
        )
        message = f"{subject!r} does not mix by volume. These do: {names}. pH does not."
        raise InputError(message)
    if times < 1:
        message = f"{times} water changes cannot be worked out; give one or more."
        raise InputError(message)
    before, source = (typed(text, known.suffix, known.label) for text in (now, new))
    part = typed(share, "_frac", "share changed")
    after = spread(
        lambda a, b, x: after_batch_exchange_g_m3(a, b, x, float(times)), before, source, part
    )
    figures = [Figure(f"{known.label} after {times} of {share.strip()}", *after, known.suffix)]
    given = [(known.label, now), ("new water", new), ("share", share), ("times", str(times))]
    said: tuple[str, ...] = ()
    if target is not None:
        aim = typed(target, known.suffix, "target")
        needed = spread(batch_exchanges_needed, before, source, part, aim)
        figures.append(Figure("changes to reach the target", *needed, ""))
        given.append(("target", target))
        if math.isinf(needed[1]):
            figures.pop()
            said = ("This new water cannot bring it there in every case.",)
    return Answer(
        question=f"Where do water changes bring {known.label}?",
        given=tuple(given),
        figures=tuple(figures),
        said=said,
        uncertainty="Exact for a mixed loop in which nothing is made or used meanwhile.",
        sources=("arithmetic",),
        cautions=(
            "New water free of chlorine, and near the loop in temperature and pH; change in "
            "steps.",
        ),
    )
