"""Calculators on what is put into the water: bases and acids, salt, agents against chlorine.

Each takes quantities as typed and returns an `Answer`. The formulas are in `tailrace.water`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from tailrace.operations.calculators import (
    ANIMALS,
    CHEMICALS,
    Answer,
    Figure,
    Sentence,
    spread,
    typed,
)
from tailrace.operations.sodium_calculators import (
    BuildUpSaid,
    SodiumAsTyped,
    build_up_of,
    instead_of,
)
from tailrace.operations.water_calculators import OPEN_AIR_PA, plain_water
from tailrace.units import Quantity
from tailrace.water.chemicals import Product, product
from tailrace.water.chemistry import Water
from tailrace.water.dechlorination import (
    ammonia_from_chloramine_n_g_m3,
    dechlorinator,
    dechlorinator_g,
    dechlorinator_per_chlorine_kg_kg,
)
from tailrace.water.dosing import (
    Outcome,
    dose_for_alkalinity_g_m3,
    dose_for_part_g_m3,
    outcome,
)
from tailrace.water.dosing_steps import Limits, Steps, steps
from tailrace.water.nitrite import chloride_to_add_g_m3
from tailrace.water.reported import reported_factor
from tailrace.water.speciation import speciate_at_ph

_PH_STEP = 0.2  # change of pH in one step of a dose: judgement
_TOXIC_STEP_N_G_M3 = 0.05  # toxic part not to be passed while dosing: judgement
_TOXIC_STEP = Figure(
    "toxic part not to be passed", _TOXIC_STEP_N_G_M3, _TOXIC_STEP_N_G_M3, "_n_g_m3"
)
_SALTS = ("NaCl", "KCl", "CaCl2.2H2O")


@dataclass(frozen=True, slots=True)
class LoopAsTyped:
    """The water of a loop before a dose, as typed.

    Parameters
    ----------
    volume
        Water in the loop.
    alkalinity
        Alkalinity now.
    ph
        pH now.
    temperature
        Water temperature.
    total_ammonia
        Total ammonia, part of which turns toxic as pH rises.
    """

    volume: str
    alkalinity: str
    ph: str
    temperature: str
    total_ammonia: str

    def water(self) -> Water:
        """Return the water at the middle of what was typed.

        Returns
        -------
        Water
            The water, with the inorganic carbon that its pH and alkalinity ask for.
        """
        start = plain_water(
            typed(self.alkalinity, "_eq_m3", "alkalinity").middle,
            typed(self.temperature, "_degc", "water temperature").middle,
            {"total_ammonia_n_g_m3": typed(self.total_ammonia, "_n_g_m3", "total ammonia").middle},
        )
        return speciate_at_ph(start, typed(self.ph, "", "pH").middle).water


def dose(
    formula: str,
    loop: LoopAsTyped,
    *,
    wanted: str,
    purity: str = "100 %",
    sodium: SodiumAsTyped | None = None,
) -> Answer:
    """Answer how much of a product brings the alkalinity to a wanted value.

    Parameters
    ----------
    formula
        Formula of the product, such as ``NaHCO3``.
    loop
        The loop now.
    wanted
        Alkalinity wanted, as typed.
    purity
        Share of the product that is the chemical, as typed.
    sodium
        The crop and how often the dose comes, to set the sodium of a year beside its limit.

    Returns
    -------
    Answer
        The amount, pH right after it and later, the steps, and the sodium that builds up.

    Raises
    ------
    InputError
        A quantity cannot be read, or the product does not move alkalinity that way.
    NotKnownError
        The product is not in the table.
    """
    sold = product(formula, purity_frac=typed(purity, "_frac", "purity").middle)
    now = typed(loop.alkalinity, "_eq_m3", "alkalinity")
    aim = typed(wanted, "_eq_m3", "alkalinity wanted")
    size = typed(loop.volume, "_m3", "volume")
    per_volume = spread(lambda a, b: dose_for_alkalinity_g_m3(sold, b - a), now, aim)
    amount = spread(lambda a, b: a * b, Quantity(*per_volume, "", ""), size)
    start = loop.water()
    middle = dose_for_alkalinity_g_m3(sold, aim.middle - now.middle)
    parts = steps(start, sold, middle, Limits(_PH_STEP, _TOXIC_STEP_N_G_M3))
    salty = build_up_of(sold, amount, size, sodium) if sodium else None
    instead = instead_of(sold, per_volume, size) if salty and salty.figures else ()
    return Answer(
        question=f"How much {sold.chemical.name} brings the alkalinity to {wanted.strip()}?",
        given=(
            *(("product", formula), ("purity", purity), ("volume", loop.volume)),
            *(("alkalinity", loop.alkalinity), ("alkalinity wanted", wanted)),
            *(("pH", loop.ph), ("water temperature", loop.temperature)),
            ("total ammonia", loop.total_ammonia),
            *(sodium.given() if sodium else ()),
        ),
        figures=(
            Figure("amount in all", *amount, "_g"),
            *_in_steps(parts, size.middle),
            *_after(outcome(start, sold, middle, carbon_dioxide_pa_abs=OPEN_AIR_PA)),
            *((*salty.figures, *instead) if salty else ()),
        ),
        said=(
            f"{sold.chemical.name}: {sold.chemical.note}.",
            _how_to_step(parts, size.middle),
            *(salty.said if salty else ()),
        ),
        uncertainty=Sentence(
            "The amount is exact but for volume and purity. pH right after assumes that "
            "everything dissolves and no gas moves; lime and magnesium take hours to weeks. "
            f"A step moves pH by {_PH_STEP:g} at most and keeps the toxic part of the ammonia "
            "below {} (both judgement).",
            (_TOXIC_STEP,),
        ),
        sources=("iupac_2021", "phreeqc_3", "judgement", *(salty.sources if salty else ())),
        cautions=(CHEMICALS, ANIMALS),
    )


def _in_steps(parts: Steps, volume_m3: float) -> tuple[Figure, ...]:
    each = parts.each_g_m3 * volume_m3
    return (
        Figure("steps", parts.count, parts.count, ""),
        Figure("amount of a step", each, each, "_g"),
    )


def _after(found: Outcome) -> tuple[Figure, ...]:
    toxic = found.now.un_ionised_ammonia_n_g_m3
    return (
        Figure("pH right after all of it", found.now.ph, found.now.ph, ""),
        Figure("toxic part of the ammonia then", toxic, toxic, "_n_g_m3"),
        Figure("pH later in open air", found.at_air.ph, found.at_air.ph, ""),
    )


def _how_to_step(parts: Steps, volume_m3: float) -> str | Sentence:
    if parts.limited_by == "toxic part":
        safe_g = parts.total_g_m3 * volume_m3
        return Sentence(
            "Only {} of it for now: more would lift the toxic part of the ammonia above {}. "
            "Bring the ammonia down first.",
            (Figure("safe for now", safe_g, safe_g, "_g"), _TOXIC_STEP),
        )
    return "An hour between steps; test before each and stop when it is where it should be."


def salt(
    nitrite: str,
    *,
    chloride: str,
    volume: str,
    ratio: float = 10.0,
    counted_as_n: bool = False,
    sodium: SodiumAsTyped | None = None,
) -> Answer:
    """Answer how much salt shields fish from nitrite.

    Parameters
    ----------
    nitrite
        Nitrite, as typed.
    chloride
        Chloride already in the water, as typed.
    volume
        Water in the loop, as typed.
    ratio
        Chloride wanted for each nitrite.
    counted_as_n
        Count nitrite as nitrogen in the ratio; else as the ion, which asks for 3.3 times more.
    sodium
        The crop and how often the salt comes, to set the sodium of a year beside its limit.

    Returns
    -------
    Answer
        Chloride to add, the weight of each salt that brings it, and the sodium that builds up
        if it is the first of them.

    Raises
    ------
    InputError
        A quantity cannot be read.
    """
    found = typed(nitrite, "_n_g_m3", "nitrite")
    there = typed(chloride, "_g_m3", "chloride")
    size = typed(volume, "_m3", "volume")
    per_n = 1.0 if counted_as_n else 1.0 / reported_factor("nitrite", "NO2")
    rise = spread(lambda n, c: chloride_to_add_g_m3(n * per_n, c, ratio), found, there)
    figures = [Figure("chloride to add", *rise, "_g_m3")]
    for key in _SALTS:
        sold = product(key)
        whole = spread(
            partial(_weight_g, sold),
            Quantity(*rise, "", ""),
            size,
        )
        name = f"{sold.chemical.name}, as {key}" if "." in key else sold.chemical.name
        figures.append(Figure(name, *whole, "_g"))
    salty = _salty(rise, size, sodium) if sodium else None
    basis = "as nitrogen" if counted_as_n else "as the ion, the safer reading"
    return Answer(
        question="How much salt shields the fish from nitrite?",
        given=(
            *(("nitrite", nitrite), ("chloride", chloride), ("volume", volume)),
            *(("chloride for each nitrite", f"{ratio:g}"), ("nitrite counted", basis)),
            *(sodium.given() if sodium else ()),
        ),
        figures=(*figures, *(salty.figures if salty else ())),
        said=(
            "One of the salts, not all. Sodium stays in the loop and harms crops as it builds "
            "up; potassium or calcium chloride feeds them instead.",
            *(salty.said if salty else ()),
        ),
        uncertainty=(
            "The rule of 10 is for channel catfish; other fish differ. The source does not say "
            "how nitrite is counted."
        ),
        sources=("srac_462", "iupac_2021", *(salty.sources if salty else ())),
        cautions=("Salt without iodine or anti-caking agent.", CHEMICALS, ANIMALS),
    )


def _salty(rise: tuple[float, float], size: Quantity, sodium: SodiumAsTyped) -> BuildUpSaid:
    """Follow sodium chloride for this rise of chloride over a year."""
    sold = product(_SALTS[0])
    amount = spread(partial(_weight_g, sold), Quantity(*rise, "", ""), size)
    return build_up_of(sold, amount, size, sodium)


def _weight_g(sold: Product, chloride_g_m3: float, volume_m3: float) -> float:
    return dose_for_part_g_m3(sold, "chloride", chloride_g_m3) * volume_m3


def dechlorinate(
    chlorine: str,
    *,
    volume: str,
    agent: str = "sodium thiosulfate",
    purity: str = "100 %",
    chloramine: bool = False,
) -> Answer:
    """Answer how much of an agent makes the chlorine of tap water harmless.

    Parameters
    ----------
    chlorine
        Total chlorine, as typed.
    volume
        Water to treat, as typed.
    agent
        Name of the agent.
    purity
        Share of the product that is the agent, as typed.
    chloramine
        Whether the chlorine is bound to ammonia.

    Returns
    -------
    Answer
        Amount of the agent, and the ammonia that chloramine leaves.

    Raises
    ------
    InputError
        A quantity cannot be read.
    NotKnownError
        The agent is not in the table.
    """
    found = typed(chlorine, "_g_m3", "chlorine")
    size = typed(volume, "_m3", "volume")
    chosen = dechlorinator(agent)
    share = typed(purity, "_frac", "purity").middle
    ratio = dechlorinator_per_chlorine_kg_kg(chosen, purity_frac=share)
    amount = spread(lambda c, v: dechlorinator_g(c, v, ratio), found, size)
    figures = [Figure(chosen.name, *amount, "_g")]
    said = [chosen.note + "."]
    if chloramine:
        freed = spread(ammonia_from_chloramine_n_g_m3, found)
        figures.append(Figure("total ammonia set free", *freed, "_n_g_m3"))
        said.append("The agent takes the chlorine; the ammonia stays and meets the filter.")
    return Answer(
        question="How much makes the chlorine harmless?",
        given=(("chlorine", chlorine), ("volume", volume), ("agent", agent), ("purity", purity)),
        figures=tuple(figures),
        said=tuple(said),
        uncertainty=(
            "Half as much again is added for safety (judgement), and the reaction that asks for "
            "most is taken. Test for chlorine afterwards."
        ),
        sources=(chosen.source, "judgement"),
        cautions=(
            "Treat the new water before it meets the stock, stir, wait, and test.",
            CHEMICALS,
        ),
    )
