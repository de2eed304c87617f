"""Sodium that comes with what is dosed, over a year, beside what the crop stands.

`tailrace.operations.dose_calculators` asks here for its answers on bases and salt. Sodium leaves
a loop only with water that is let out and, a little, with the harvest; so it is counted as if
the crop took none.
"""

from __future__ import annotations

from dataclasses import dataclass

from tailrace.crops.facts import CropFact, crop_facts, crops
from tailrace.errors import InputError
from tailrace.operations.calculators import Figure, Sentence, spread, typed
from tailrace.units import Quantity
from tailrace.water.chemicals import Product, product
from tailrace.water.dosing import build_up, dose_for_alkalinity_g_m3

# What raises alkalinity without sodium, potassium and calcium: crops use both.
_INSTEAD = ("KHCO3", "K2CO3", "Ca(OH)2")


@dataclass(frozen=True, slots=True)
class SodiumAsTyped:
    """What is asked about the sodium of a loop, as typed.

    Parameters
    ----------
    crop
        Key of the crop.
    each
        Time from one dose to the next.
    now
        Sodium in the loop now.
    renewed
        Water let out and replaced in a time; what evaporates does not count.
    new
        Sodium in the new water.
    """

    crop: str
    each: str
    now: str = "0 mg/L"
    renewed: str = "0 L/day"
    new: str = "0 mg/L"

    def given(self) -> tuple[tuple[str, str], ...]:
        """Return what was given, each with its name.

        Returns
        -------
        tuple
            Name and text of each.
        """
        return (
            *(("crop", self.crop), ("time between doses", self.each), ("sodium now", self.now)),
            *(("water renewed", self.renewed), ("sodium in the new water", self.new)),
        )


@dataclass(frozen=True, slots=True)
class BuildUpSaid:
    """What is answered about the sodium.

    Parameters
    ----------
    figures
        Sodium after a year, and the limit of the crop.
    said
        The comparison, in words.
    sources
        Keys of the sources.
    """

    figures: tuple[Figure, ...]
    said: tuple[str | Sentence, ...]
    sources: tuple[str, ...]


def build_up_of(
    sold: Product, amount_g: tuple[float, float], size: Quantity, asked: SodiumAsTyped
) -> BuildUpSaid:
    """Answer where the sodium of a regular dose stands after a year.

    Parameters
    ----------
    sold
        The product.
    amount_g
        Range of a dose.
    size
        Water in the loop, m3.
    asked
        The crop, and how often.

    Returns
    -------
    BuildUpSaid
        Without figures where the product brings no sodium.

    Raises
    ------
    InputError
        A quantity cannot be read, or the time between doses is not above zero.
    NotKnownError
        The crop is not in the table.
    """
    fact = _limit(asked.crop)
    if not sold.chemical.parts.get("sodium", 0.0):
        return BuildUpSaid((), (f"{sold.chemical.name} brings no sodium.",), ())
    year = spread(
        lambda grams, volume, each, now, renewed, new: (
            build_up(
                sold,
                "sodium",
                product_g_s=grams / each,
                now_g_m3=now,
                make_up_g_m3=new,
                exchange_m3_s=renewed,
                volume_m3=volume,
            ).after_a_year_g_m3
        ),
        *(Quantity(*amount_g, "", ""), size, _interval(asked.each)),
        typed(asked.now, "_g_m3", "sodium now"),
        typed(asked.renewed, "_m3_s", "water renewed"),
        typed(asked.new, "_g_m3", "sodium in the new water"),
    )
    name = crops()[asked.crop].name if asked.crop in crops() else asked.crop.replace("_", " ")
    figures = (
        Figure("sodium after a year at this pace", *year, "_g_m3"),
        Figure(f"sodium that {name} stands", fact.low, fact.high, "_g_m3"),
    )
    return BuildUpSaid(figures, (_verdict(year, name, figures[1]),), (fact.source,))


def _limit(crop: str) -> CropFact:
    return crop_facts(crop, "sodium_limit")[0]


def _interval(text: str) -> Quantity:
    each = typed(text, "_s", "time between doses")
    if each.low <= 0.0:
        message = f"time between doses: {text!r} is not above zero; give it such as '7 days'."
        raise InputError(message)
    return each


def _verdict(year: tuple[float, float], name: str, stands: Figure) -> Sentence:
    if year[1] <= stands.low:
        words = f"In a year the sodium stays below the {{}} that {name} stands."
    elif year[0] > stands.low:
        words = (
            f"Within a year the sodium passes the {{}} that {name} stands: use potassium or "
            "calcium instead, which the crop takes up, or renew more water."
        )
    else:
        words = (
            f"Within a year the sodium may pass the {{}} that {name} stands: measure it, and use "
            "potassium or calcium in its place."
        )
    return Sentence(words, (stands,))


def instead_of(
    sold: Product, per_volume_g_m3: tuple[float, float], size: Quantity
) -> tuple[Figure, ...]:
    """Answer how much of a base without sodium does the same.

    Parameters
    ----------
    sold
        The product that it would replace.
    per_volume_g_m3
        Range of its dose.
    size
        Water in the loop, m3.

    Returns
    -------
    tuple of Figure
        One for each base; empty where the product is no base.
    """
    per_g = sold.chemical.alkalinity_eq_mol / sold.product_g_mol
    if per_g <= 0.0:
        return ()

    def weight(other: Product, grams: float, volume: float) -> float:
        return dose_for_alkalinity_g_m3(other, grams * per_g) * volume

    found = []
    for key in _INSTEAD:
        other = product(key)
        whole = spread(
            lambda g, v, other=other: weight(other, g, v), Quantity(*per_volume_g_m3, "", ""), size
        )
        found.append(Figure(f"instead: {other.chemical.name}", *whole, "_g"))
    return tuple(found)
