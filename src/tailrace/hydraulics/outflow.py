"""Free outflow: orifices, weirs, standpipes, emptying of a tank, pipes that run part full."""

from __future__ import annotations

import math

from tailrace.formula import formula
from tailrace.hydraulics.pipes import STANDARD_GRAVITY


@formula(
    head_m=(0.0, 100.0),
    opening_m2=(0.0, 10.0),
    discharge_frac=(0.01, 1.0),
)
def orifice_flow_m3_s(head_m: float, opening_m2: float, discharge_frac: float = 0.61) -> float:
    """Flow through an orifice under a head.

    Parameters
    ----------
    head_m
        Head over the middle of the opening, or head difference when drowned [m].
    opening_m2
        Area of the opening [m2].
    discharge_frac
        Discharge coefficient: about 0.61 sharp-edged, 0.8 a short tube, 0.97 rounded [-].

    Returns
    -------
    float
        Flow [m3/s].

    Notes
    -----
    Q = Cd A sqrt(2 g h). The opening is small against the tank, and lies at least its own height
    below the surface.

    Examples
    --------
    >>> round(orifice_flow_m3_s(1.0, 1e-3) * 1e3, 2)
    2.7

    References
    ----------
    torricelli
    """
    return discharge_frac * opening_m2 * math.sqrt(2.0 * STANDARD_GRAVITY * head_m)


@formula(
    start_head_m=(0.0, 100.0),
    end_head_m=(0.0, 100.0),
    surface_m2=(0.0, 1e5),
    opening_m2=(1e-9, 10.0),
    discharge_frac=(0.01, 1.0),
)
def tank_emptying_s(
    start_head_m: float,
    end_head_m: float,
    surface_m2: float,
    opening_m2: float,
    discharge_frac: float = 0.61,
) -> float:
    """Time in which a tank with upright walls falls from one level to another.

    Parameters
    ----------
    start_head_m
        Head over the middle of the opening at the start [m].
    end_head_m
        Head at the end [m].
    surface_m2
        Surface of the tank [m2].
    opening_m2
        Area of the opening [m2].
    discharge_frac
        Discharge coefficient [-].

    Returns
    -------
    float
        Time [s]; negative when the end is higher than the start.

    Notes
    -----
    t = 2 A_t (sqrt(h1) - sqrt(h2))/(Cd A sqrt(2 g)): the integral of the orifice law.

    Examples
    --------
    >>> round(tank_emptying_s(1.0, 0.25, 2.0, 1e-3))
    740

    References
    ----------
    torricelli
    """
    fall = math.sqrt(start_head_m) - math.sqrt(end_head_m)
    speed = discharge_frac * opening_m2 * math.sqrt(2.0 * STANDARD_GRAVITY)
    return 2.0 * surface_m2 * fall / speed


@formula(head_m=(0.0, 1.0), crest_height_m=(0.02, 10.0), width_m=(0.0, 100.0))
def full_width_weir_flow_m3_s(head_m: float, crest_height_m: float, width_m: float) -> float:
    """Flow over a sharp weir that takes the whole width of its channel.

    Parameters
    ----------
    head_m
        Height of the upstream surface over the crest [m].
    crest_height_m
        Height of the crest over the channel's floor [m].
    width_m
        Width of crest and channel [m].

    Returns
    -------
    float
        Flow [m3/s].

    Notes
    -----
    Rehbock: Q = 2/3 (0.602 + 0.0832 h/P) sqrt(2 g) b (h + 0.00125)^1.5, with air under the sheet
    of water. Founded on heads of 30 mm and more; below that water clings to the crest.

    Examples
    --------
    >>> round(full_width_weir_flow_m3_s(0.05, 0.3, 0.4) * 1e3, 2)
    8.44

    References
    ----------
    rehbock_1929
    """
    coefficient = 0.602 + 0.0832 * head_m / crest_height_m
    effective: float = (head_m + 0.00125) ** 1.5
    if head_m <= 0.0:
        return 0.0
    return 2.0 / 3.0 * math.sqrt(2.0 * STANDARD_GRAVITY) * coefficient * width_m * effective


@formula(head_m=(0.0, 0.6), half_angle_tangent=(0.1, 2.0), discharge_frac=(0.3, 1.0))
def v_notch_flow_m3_s(
    head_m: float, half_angle_tangent: float = 1.0, discharge_frac: float = 0.578
) -> float:
    """Flow through a sharp V-notch.

    Parameters
    ----------
    head_m
        Height of the upstream surface over the notch's point [m].
    half_angle_tangent
        Tangent of half the notch's angle; 1 for 90 degrees [-].
    discharge_frac
        Discharge coefficient; 0.578 at 90 degrees [-].

    Returns
    -------
    float
        Flow [m3/s].

    Notes
    -----
    Kindsvater and Shen: Q = 8/15 Cd sqrt(2 g) tan(angle/2) (h + 0.00085)^2.5, the last length
    for 90 degrees; heads of 50 to 380 mm, contraction full. One general library of fluid
    mechanics gives a third more for the same notch; the US Bureau of Reclamation's cone formula
    sides with this one.

    Examples
    --------
    >>> round(v_notch_flow_m3_s(0.1) * 1e3, 2)
    4.41

    References
    ----------
    shen_1981
    """
    if head_m <= 0.0:
        return 0.0
    effective: float = (head_m + 0.00085) ** 2.5
    law = 8.0 / 15.0 * math.sqrt(2.0 * STANDARD_GRAVITY) * effective
    return discharge_frac * half_angle_tangent * law


@formula(head_m=(0.0, 1.0), bore_m=(1e-3, 1.0))
def standpipe_flow_m3_s(head_m: float, bore_m: float) -> float:
    """Flow into the open top of an upright drain pipe.

    Parameters
    ----------
    head_m
        Height of the surface over the rim [m].
    bore_m
        Inner diameter of the pipe [m].

    Returns
    -------
    float
        Flow [m3/s] that the mouth lets in; the pipe below may take less.

    Notes
    -----
    The rim acts as a sharp weir of length pi D, Q = 2/3 0.6 sqrt(2 g) pi D h^1.5, until the
    mouth drowns and acts as an orifice, Q = 0.6 (pi D^2/4) sqrt(2 g h); the smaller holds, and
    they cross at h = 0.375 D. The coefficients are those of a straight sharp edge; a round rim,
    a screen and a swirl change them by some 20 %.

    Examples
    --------
    >>> round(standpipe_flow_m3_s(0.01, 0.05) * 1e3, 2)
    0.28

    References
    ----------
    judgement
    """
    root = 0.6 * math.sqrt(2.0 * STANDARD_GRAVITY * head_m)
    as_weir = 2.0 / 3.0 * math.pi * bore_m * head_m * root
    as_orifice = math.pi / 4.0 * bore_m**2 * root
    return 0.5 * (as_weir + as_orifice - abs(as_weir - as_orifice))


@formula(
    depth_frac=(0.0, 1.0),
    bore_m=(1e-3, 10.0),
    slope_frac=(0.0, 1.0),
    manning_n=(0.005, 0.05),
)
def part_full_pipe_flow_m3_s(
    depth_frac: float, bore_m: float, slope_frac: float, manning_n: float = 0.009
) -> float:
    """Flow in a sloped pipe that runs part full, as a gravity return does.

    Parameters
    ----------
    depth_frac
        Depth of the water over the bore [-].
    bore_m
        Inner diameter [m].
    slope_frac
        Fall per length [-].
    manning_n
        Manning's roughness: 0.009 smooth plastic, 0.011 to 0.013 slimed [-].

    Returns
    -------
    float
        Flow [m3/s].

    Notes
    -----
    Q = A R^(2/3) sqrt(S)/n, uniform flow, with area and hydraulic radius of a circular segment.
    Most flow passes at a depth of 0.94 of the bore; a return is best laid out for half full, so
    that air keeps its way.

    Examples
    --------
    >>> round(part_full_pipe_flow_m3_s(0.5, 0.1, 0.01) * 1e3, 2)
    3.73

    References
    ----------
    manning
    """
    if depth_frac <= 0.0:
        return 0.0
    angle = 2.0 * math.acos(1.0 - 2.0 * depth_frac)
    area = bore_m**2 / 8.0 * (angle - math.sin(angle))
    radius: float = area / (0.5 * angle * bore_m)
    power: float = radius ** (2.0 / 3.0)
    return area * power * math.sqrt(slope_frac) / manning_n
