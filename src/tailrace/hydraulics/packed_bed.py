"""Packed beds: pressure lost by water that rises through packed grains."""

from __future__ import annotations

from tailrace.formula import formula


@formula(
    velocity_m_s=(0.0, 1.0),
    void_frac=(0.01, 0.99),
    grain_diameter_m=(1e-5, 0.1),
    density_kg_m3=(0.0, 2000.0),
    viscosity_pa_s=(0.0, 1.0),
)
def ergun_pa_m(
    velocity_m_s: float,
    void_frac: float,
    grain_diameter_m: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
) -> float:
    """Pressure lost per depth of a packed bed of spheres.

    Parameters
    ----------
    velocity_m_s
        Superficial velocity: flow over the empty cross-section [m/s].
    void_frac
        Share of pores [-].
    grain_diameter_m
        Diameter of a grain [m].
    density_kg_m3
        Density of the water; zero leaves the viscous term alone [kg/m3].
    viscosity_pa_s
        Dynamic viscosity; zero leaves the inertial term alone [Pa s].

    Returns
    -------
    float
        Pressure lost per depth [Pa/m].

    Notes
    -----
    dp/L = 150 mu (1-e)^2 u/(e^3 d^2) + 1.75 rho (1-e) u^2/(e^3 d). Founded on beds of even
    grains with void share about 0.35 to 0.5; a bead bed clogged to smaller pores is outside what
    was measured, and there the deposit's density is the parameter that absorbs the difference.

    Examples
    --------
    >>> round(0.6 * ergun_pa_m(0.01, 0.35, 0.003, 997.05, 0.00089), 1)
    1406.1

    References
    ----------
    ergun_1952
    """
    solid = 1.0 - void_frac
    viscous = 150.0 * viscosity_pa_s * solid**2 / (void_frac**3 * grain_diameter_m**2)
    inertial = 1.75 * density_kg_m3 * solid / (void_frac**3 * grain_diameter_m)
    return (viscous + inertial * velocity_m_s) * velocity_m_s
