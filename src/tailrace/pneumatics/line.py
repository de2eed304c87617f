"""The air line from pump to chamber: flow that a pressure difference drives."""

from __future__ import annotations

import math

from tailrace.formula import formula


@formula(
    drive_pa=(-1e7, 1e7),
    resistance_pa_s_m3=(1.0, math.inf),
    quadratic_pa_s2_m6=(0.0, 1e20),
)
def line_flow_m3_s(drive_pa: float, resistance_pa_s_m3: float, quadratic_pa_s2_m6: float) -> float:
    """Flow through a line with a linear and a quadratic resistance in series.

    Parameters
    ----------
    drive_pa
        Pressure left to drive the flow: pump at no flow less check valve less back pressure [Pa].
    resistance_pa_s_m3
        Linear resistance: slope of the pump curve plus that of the needle [Pa s/m3].
    quadratic_pa_s2_m6
        Quadratic resistance of hose and fittings [Pa s2/m6].

    Returns
    -------
    float
        Standard flow (70 degF, 1 atm) [m3/s]; zero when nothing drives it, as the check valve
        holds.

    Notes
    -----
    Root of R q + k q^2 = D, written q = 2 D/(R + sqrt(R^2 + 4 k D)), which does not cancel.

    Examples
    --------
    >>> line_flow_m3_s(6000.0, 6e9, 0.0)
    1e-06
    >>> line_flow_m3_s(-500.0, 6e9, 0.0)
    0.0

    References
    ----------
    arithmetic
    """
    drive = 0.5 * (drive_pa + abs(drive_pa))
    root: float = (resistance_pa_s_m3**2 + 4.0 * quadratic_pa_s2_m6 * drive) ** 0.5
    return 2.0 * drive / (resistance_pa_s_m3 + root)
