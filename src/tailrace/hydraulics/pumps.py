"""Water pumps: the head a pump gives at a flow."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WaterPump:
    """A water pump by the two ends of its curve.

    Parameters
    ----------
    shutoff_head_m
        Head at no flow, when new.
    maximum_flow_m3_s
        Flow at no head, when new.
    head_factor_frac
        Share of the shut-off head left; 1 when healthy.
    """

    shutoff_head_m: float
    maximum_flow_m3_s: float
    head_factor_frac: float = 1.0
