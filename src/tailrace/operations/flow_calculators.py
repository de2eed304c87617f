"""Calculators on flows: pipes, water pumps, air at depth and rotameters.

Each takes quantities as typed and returns an `Answer`. The formulas are in
`tailrace.hydraulics` and `tailrace.pneumatics`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from scipy.optimize import brentq

from tailrace.errors import InputError
from tailrace.hydraulics.fittings import loss_coefficient_sum
from tailrace.hydraulics.pipes import Pipe, pipe_head_loss_m
from tailrace.hydraulics.pumps import pump_from_points, pump_head_m, pump_power_w
from tailrace.operations.calculators import (
    AIR_FLOW,
    ELECTRICITY,
    Answer,
    Figure,
    spread,
    typed,
)
from tailrace.pneumatics.air_pump import bowed_air_pump_pa_gauge
from tailrace.pneumatics.rotameter import Rotameter, standard_flow_m3_s
from tailrace.pneumatics.standard import STANDARD_PA_ABS
from tailrace.pneumatics.transfer import diffuser_pa_gauge
from tailrace.units import Quantity
from tailrace.water.air import pressure_at_altitude_pa_abs
from tailrace.water.properties import density_kg_m3, viscosity_pa_s

_GRAVITY_M_S2 = 9.80665
_ROUGHNESS_M = (2e-6, 3e-4)  # clean plastic to slimed: judgement on the second
_BOW = (1.0, 2.0)  # exponents of an air pump's curve between its two ends: judgement
_DAY_S = 86400.0


def pipe(
    flow: str,
    *,
    bore: str,
    length: str,
    fittings: Sequence[str] = (),
    temperature: str = "20 degC",
) -> Answer:
    """Answer how much head a pipe takes.

    Parameters
    ----------
    flow
        Water flow, as typed.
    bore
        Inner diameter, as typed.
    length
        Length of the pipe, as typed.
    fittings
        Fittings, each a key of the table or ``key:count``.
    temperature
        Water temperature, as typed.

    Returns
    -------
    Answer
        Velocity, and the head lost from clean to slimed walls.

    Raises
    ------
    InputError
        A quantity or a count cannot be read.
    NotKnownError
        A fitting is not in the table.
    """
    water = typed(flow, "_m3_s", "flow")
    across = typed(bore, "_m", "bore")
    along = typed(length, "_m", "length")
    degc = typed(temperature, "_degc", "water temperature").middle
    density, viscosity = density_kg_m3(degc), viscosity_pa_s(degc)
    losses = loss_coefficient_sum(dict(map(_counted, fittings)))
    if across.low <= 0.0:
        message = f"bore: {bore!r} is not above zero; give the inner diameter such as '1.5 in'."
        raise InputError(message)

    def lost(q: float, d: float, run: float, rough: float) -> float:
        return pipe_head_loss_m(
            q, Pipe(d, run, losses, rough), density_kg_m3=density, viscosity_pa_s=viscosity
        )

    head = spread(lost, water, across, along, Quantity(*_ROUGHNESS_M, "", ""))
    speed = spread(lambda q, d: q / (math.pi / 4.0 * d * d), water, across)
    pressure = [density * _GRAVITY_M_S2 * end for end in head]
    return Answer(
        question="How much head does the pipe take?",
        given=(
            *(("flow", flow), ("bore", bore), ("length", length)),
            *(("fitting", text) for text in fittings),
            ("water temperature", temperature),
        ),
        figures=(
            Figure("velocity", *speed, "_m_s"),
            Figure("head lost", *head, "_m"),
            Figure("pressure lost", pressure[0], pressure[1], "_pa"),
        ),
        said=(f"The fittings count for {losses:.2g} velocity heads.",) if fittings else (),
        uncertainty=(
            "The range goes from a clean plastic wall to a slimed one. Loss coefficients of "
            "fittings differ by a third from make to make. Use the true bore, not the nominal."
        ),
        sources=("swamee_jain_1976", "darcy_weisbach", "perry_valves"),
        cautions=(ELECTRICITY,),
    )


def _counted(text: str) -> tuple[str, float]:
    key, _, count = text.partition(":")
    if count and not count.strip().isdigit():
        message = f"fitting {text!r}: the count must be a whole number, such as '{key}:3'."
        raise InputError(message)
    return key.strip(), float(count or 1)


def pump(
    points: Sequence[str],
    *,
    flow: str,
    power: str | None = None,
    temperature: str = "20 degC",
) -> Answer:
    """Answer what head a water pump gives at a flow.

    Parameters
    ----------
    points
        One to three points of its curve, each ``flow @ head``.
    flow
        Flow asked about, as typed.
    power
        Electrical power, as typed.
    temperature
        Water temperature, as typed.

    Returns
    -------
    Answer
        Head, power in the water, and with the electrical power the efficiency and a day's use.

    Raises
    ------
    InputError
        A quantity cannot be read, or the points are no pump's curve.
    """
    made = pump_from_points([_point(text) for text in points])
    water = typed(flow, "_m3_s", "flow")
    density = density_kg_m3(typed(temperature, "_degc", "water temperature").middle)
    head = spread(lambda q: pump_head_m(q, made), water)
    if head[0] < 0.0:
        message = f"flow: the pump does not reach {flow.strip()} even at no head."
        raise InputError(message)
    used = spread(lambda q: pump_power_w(q, pump_head_m(q, made), density, 1.0), water)
    figures = [Figure("head", *head, "_m"), Figure("power in the water", *used, "_w")]
    given = [("point", text) for text in points] + [("flow", flow)]
    said: tuple[str, ...] = ()
    if power is not None:
        plug = typed(power, "_w", "power")
        if plug.low <= 0.0:
            message = f"power: {power!r} is not above zero; give it such as '90 W'."
            raise InputError(message)
        figures.append(Figure("efficiency", used[0] / plug.high, used[1] / plug.low, "_frac"))
        given.append(("power", power))
        low, high = (end * _DAY_S / 3.6e6 for end in (plug.low, plug.high))
        kwh = f"{low:.3g}" if low == high else f"{low:.3g} to {high:.3g}"
        said = (f"Running all day it uses {kwh} kWh a day.",)
    return Answer(
        question="What head does the pump give at this flow?",
        given=tuple(given),
        figures=tuple(figures),
        said=said,
        uncertainty=(
            "As good as the points: two of them leave the bow of the curve to a parabola, one "
            "to a rule. Labels are best cases; a worn pump gives a tenth to a third less."
        ),
        sources=("epanet_2", "hydrostatics"),
        cautions=(ELECTRICITY,),
    )


def _point(text: str) -> tuple[float, float]:
    flow, at, head = text.partition("@")
    if not at:
        message = f"point {text!r} needs flow and head with @ between, such as '8 gal/min @ 6 ft'."
        raise InputError(message)
    return typed(flow, "_m3_s", "flow").middle, typed(head, "_m", "head").middle


def air(
    depth: str,
    *,
    maximum: str | None = None,
    free_flow: str | None = None,
    diffuser: str = "2-5 kPa",
) -> Answer:
    """Answer what pressure air needs at a depth, and what a pump then still gives.

    Parameters
    ----------
    depth
        Water over the outlet, as typed.
    maximum
        Pressure of the pump at no flow, as typed.
    free_flow
        Flow of the pump at no pressure, as typed.
    diffuser
        Pressure that the diffuser takes, as typed.

    Returns
    -------
    Answer
        The pressure, and the flow from a straight to a bowed curve.

    Raises
    ------
    InputError
        A quantity cannot be read, or only one end of the pump's curve was given.
    """
    under = typed(depth, "_m", "depth")
    stone = typed(diffuser, "_pa", "diffuser")
    need = spread(diffuser_pa_gauge, under, stone)
    figures = [Figure("pressure needed", *need, "_pa_gauge")]
    said: tuple[str, ...] = ()
    if (maximum is None) != (free_flow is None):
        message = "give both ends of the pump's curve: --maximum and --free-flow, or neither."
        raise InputError(message)
    if maximum is not None and free_flow is not None:
        top = typed(maximum, "_pa_gauge", "maximum pressure")
        free = typed(free_flow, "_m3_s", "free flow")
        flow = spread(_air_flow_m3_s, Quantity(*need, "", ""), top, free, Quantity(*_BOW, "", ""))
        figures.append(Figure("air flow left", *flow, "_m3_s", AIR_FLOW))
        if flow[0] <= 0.0:
            said = ("In the worst case the pump gives no air at this depth.",)
    return Answer(
        question="What pressure does air need at this depth?",
        given=(
            *(("depth", depth), ("diffuser", diffuser)),
            *((n, t) for n, t in (("maximum", maximum), ("free flow", free_flow)) if t),
        ),
        figures=tuple(figures),
        said=said,
        uncertainty=(
            "A clean diffuser takes 2 to 5 kPa (common practice, no source) and more as it "
            "fouls. Between its two ends the pump's curve is taken from straight to bowed."
        ),
        sources=("hydrostatics", "judgement"),
        cautions=(
            "The air pump above the water line, or a check valve in the hose: water must not "
            "run back.",
            ELECTRICITY,
        ),
    )


def _air_flow_m3_s(need_pa: float, top_pa: float, free_m3_s: float, bow: float) -> float:
    """Where the pump's curve meets a pressure; none when it does not reach it."""
    if need_pa >= top_pa or free_m3_s <= 0.0:
        return 0.0

    def excess(flow: float) -> float:
        return bowed_air_pump_pa_gauge(flow, top_pa, free_m3_s, 1.0, bow) - need_pa

    return float(brentq(excess, 0.0, free_m3_s, xtol=1e-12))


def rotameter(
    reading: str,
    *,
    pressure: str,
    temperature: str = "70 degF",
    altitude: str = "0 m",
    gravity: float = 1.0,
) -> Answer:
    """Answer what a rotameter's reading stands for at another pressure.

    Parameters
    ----------
    reading
        Reading of the air float, as typed.
    pressure
        Pressure in the tube above the local air, as typed.
    temperature
        Temperature of the gas, as typed.
    altitude
        Altitude of the site, as typed.
    gravity
        Density of the gas over that of air; oxygen is 1.105.

    Returns
    -------
    Answer
        Flow at standard state and as it is in the tube.

    Raises
    ------
    InputError
        A quantity cannot be read.
    OutsideRangeError
        A quantity lies outside the range of the equation.
    """
    seen = typed(reading, "_m3_s", "reading")
    above = typed(pressure, "_pa_gauge", "pressure")
    warm = typed(temperature, "_degc", "gas temperature")
    height = typed(altitude, "_m", "altitude")

    def state(gauge: float, altitude_m: float) -> float:
        return gauge + pressure_at_altitude_pa_abs(altitude_m)

    def standard(read: float, gauge: float, degc: float, high: float, power: float) -> float:
        meter = Rotameter(
            full_scale_m3_s=read, density_exponent_frac=power, specific_gravity=gravity
        )
        return standard_flow_m3_s(read, state(gauge, high), degc, meter)

    def as_it_is(read: float, gauge: float, degc: float, high: float, power: float) -> float:
        grown = STANDARD_PA_ABS / state(gauge, high) * (degc + 273.15) / (21.11 + 273.15)
        return standard(read, gauge, degc, high, power) * grown

    wakes = Quantity(0.5, 1.0, "", "")
    inputs = (seen, above, warm, height, wakes)
    return Answer(
        question="What does the rotameter's reading stand for?",
        given=(
            *(("reading", reading), ("pressure in the tube", pressure)),
            *(("gas temperature", temperature), ("altitude", altitude)),
            *((("specific gravity", f"{gravity:g}"),) if gravity != 1.0 else ()),
        ),
        figures=(
            Figure("flow at 70 degF and 1 atm", *spread(standard, *inputs), "_m3_s", AIR_FLOW),
            Figure("flow as it is in the tube", *spread(as_it_is, *inputs), "_m3_s", AIR_FLOW),
        ),
        said=("Read a ball at its middle, with the tube upright.",),
        uncertainty=(
            "The range goes from a turbulent wake behind the air float to a viscous one, as in "
            "small tubes; a scale for 70 degF and 1 atm is assumed. A bottle filled under water "
            "in a measured time settles it."
        ),
        sources=("variable_area_meter", "ideal_gas"),
        cautions=(ELECTRICITY,),
    )
