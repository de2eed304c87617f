"""Air pumps: the pressure a pump gives at a flow."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AirPump:
    """An air pump by the two ends of its curve.

    Parameters
    ----------
    maximum_pa_gauge
        Pressure at no flow, when new.
    free_flow_m3_s
        Flow at no back pressure, standard m3/s (70 degF, 1 atm).
    wear_frac
        Share of both that is left; 1 when new.
    """

    maximum_pa_gauge: float
    free_flow_m3_s: float
    wear_frac: float = 1.0
