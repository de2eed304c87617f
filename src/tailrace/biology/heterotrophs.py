"""Heterotrophs: growth with oxygen and with nitrate, hydrolysis, mineralisation.

Forms of Activated Sludge Model No. 1; the numbers of the published models stand in
``parameters.csv`` and are arguments here.
"""

from __future__ import annotations

from tailrace.biology.factors import monod_frac, non_competitive_frac, theta_factor
from tailrace.biology.nitrifiers import DAY_S
from tailrace.formula import formula

_OXYGEN_HALF = 0.2  # g/m3
_NITRATE_HALF = 0.5  # g N/m3
_OXYGEN_OF_NITRATE = 2.856  # g O2 that a gram of nitrate nitrogen stands for


@formula(
    maximum_per_s=(0.0, 1e-2),
    organic_cod_g_m3=(0.0, 1e5),
    oxygen_g_m3=(0.0, 50.0),
    half_saturation_cod_g_m3=(0.0, 1e4),
)
def heterotroph_growth_per_s(
    maximum_per_s: float,
    organic_cod_g_m3: float,
    oxygen_g_m3: float,
    half_saturation_cod_g_m3: float = 20.0,
) -> float:
    """Growth of heterotrophs with oxygen.

    Parameters
    ----------
    maximum_per_s
        Highest growth at this temperature [1/s].
    organic_cod_g_m3
        Dissolved degradable organic matter [g O2/m3].
    oxygen_g_m3
        Dissolved oxygen [g/m3].
    half_saturation_cod_g_m3
        Organic matter at which growth is half [g O2/m3].

    Returns
    -------
    float
        Specific growth, decay not taken off [1/s].

    Notes
    -----
    mu S/(K_S + S) DO/(0.2 + DO).

    Examples
    --------
    >>> round(heterotroph_growth_per_s(6.0 / 86400.0, 20.0, 6.0) * 86400.0, 2)
    2.9

    References
    ----------
    henze_1987
    """
    eaten = monod_frac(organic_cod_g_m3, half_saturation_cod_g_m3)
    return maximum_per_s * eaten * monod_frac(oxygen_g_m3, _OXYGEN_HALF)


@formula(
    maximum_per_s=(0.0, 1e-2),
    organic_cod_g_m3=(0.0, 1e5),
    nitrate_n_g_m3=(0.0, 1e4),
    oxygen_g_m3=(0.0, 50.0),
    half_saturation_cod_g_m3=(0.0, 1e4),
    reduction_frac=(0.0, 1.0),
)
def denitrifier_growth_per_s(
    maximum_per_s: float,
    organic_cod_g_m3: float,
    nitrate_n_g_m3: float,
    oxygen_g_m3: float,
    half_saturation_cod_g_m3: float = 20.0,
    reduction_frac: float = 0.8,
) -> float:
    """Growth of heterotrophs on nitrate where oxygen is short.

    Parameters
    ----------
    maximum_per_s
        Highest growth with oxygen at this temperature [1/s].
    organic_cod_g_m3
        Dissolved degradable organic matter [g O2/m3].
    nitrate_n_g_m3
        Nitrate [g N/m3].
    oxygen_g_m3
        Dissolved oxygen, which switches it off [g/m3].
    half_saturation_cod_g_m3
        Organic matter at which growth is half [g O2/m3].
    reduction_frac
        Share of the growth with oxygen that is left [-].

    Returns
    -------
    float
        Specific growth, decay not taken off [1/s].

    Notes
    -----
    eta mu S/(K_S + S) NO3/(0.5 + NO3) 0.2/(0.2 + DO). In sludge and thick films oxygen is short
    although the water has plenty: the concentrations are those at the bacteria. Where nitrate
    runs out too, hydrogen sulphide, a poison gas, follows.

    Examples
    --------
    >>> round(denitrifier_growth_per_s(6.0 / 86400.0, 20.0, 20.0, 0.0) * 86400.0, 2)
    2.34

    References
    ----------
    henze_1987
    """
    eaten = monod_frac(organic_cod_g_m3, half_saturation_cod_g_m3)
    breathed = monod_frac(nitrate_n_g_m3, _NITRATE_HALF)
    switch = non_competitive_frac(oxygen_g_m3, _OXYGEN_HALF)
    return reduction_frac * maximum_per_s * eaten * breathed * switch


@formula(
    growth_per_s=(0.0, 1e-2),
    bacteria_cod_g_m3=(0.0, 1e6),
    yield_frac=(0.01, 0.95),
)
def denitrified_n_g_m3_s(
    growth_per_s: float, bacteria_cod_g_m3: float, yield_frac: float = 0.67
) -> float:
    """Nitrate that growing denitrifiers use.

    Parameters
    ----------
    growth_per_s
        Specific growth on nitrate [1/s].
    bacteria_cod_g_m3
        Heterotrophs, as oxygen demand [g O2/m3].
    yield_frac
        Bacteria made per organic matter used, both as oxygen demand [-].

    Returns
    -------
    float
        Nitrate used per volume and time, as nitrogen [g/(m3 s)].

    Notes
    -----
    (1 - Y)/(2.856 Y) mu X: what is burnt needs oxygen, and a gram of nitrate nitrogen stands for
    2.856 g of it.

    Examples
    --------
    >>> round(denitrified_n_g_m3_s(1.0 / 86400.0, 100.0) * 86400.0, 1)
    17.2

    References
    ----------
    henze_1987
    """
    burnt = (1.0 - yield_frac) / yield_frac
    return burnt / _OXYGEN_OF_NITRATE * growth_per_s * bacteria_cod_g_m3


@formula(
    particulate_cod_g_m3=(0.0, 1e6),
    bacteria_cod_g_m3=(0.0, 1e6),
    rate_per_s=(0.0, 1e-2),
    half_saturation_frac=(0.0, 10.0),
)
def hydrolysis_cod_g_m3_s(
    particulate_cod_g_m3: float,
    bacteria_cod_g_m3: float,
    rate_per_s: float = 3.0 / DAY_S,
    half_saturation_frac: float = 0.03,
) -> float:
    """Hydrolysis of degradable solids where oxygen is plenty.

    Parameters
    ----------
    particulate_cod_g_m3
        Slowly degradable solids, as oxygen demand [g O2/m3].
    bacteria_cod_g_m3
        Heterotrophs, as oxygen demand [g O2/m3].
    rate_per_s
        Highest rate at this temperature [1/s].
    half_saturation_frac
        Solids per bacteria at which the rate is half [-].

    Returns
    -------
    float
        Solids dissolved per volume and time, as oxygen demand [g/(m3 s)].

    Notes
    -----
    k (X_S/X)/(K_X + X_S/X) X: with many solids the bacteria's surface limits, with few the solids.

    Examples
    --------
    >>> round(hydrolysis_cod_g_m3_s(3.0, 100.0) * 86400.0, 1)
    150.0

    References
    ----------
    henze_1987
    """
    if bacteria_cod_g_m3 <= 0.0 or particulate_cod_g_m3 <= 0.0:
        return 0.0
    ratio = particulate_cod_g_m3 / bacteria_cod_g_m3
    return rate_per_s * ratio / (half_saturation_frac + ratio) * bacteria_cod_g_m3


@formula(
    organic_nitrogen_g=(0.0, 1e9),
    rate_20_per_s=(0.0, 1e-2),
    temperature_degc=(0.0, 45.0),
    theta=(1.0, 1.3),
)
def mineralised_n_g_s(
    organic_nitrogen_g: float,
    rate_20_per_s: float,
    temperature_degc: float,
    theta: float = 1.07,
) -> float:
    """Ammonia set free as captured solids, sludge or feed rot.

    Parameters
    ----------
    organic_nitrogen_g
        Degradable organic nitrogen in them [g].
    rate_20_per_s
        First-order rate at 20 degC: 0.08 to 0.35 a day, from memory for sludge of fish [1/s].
    temperature_degc
        Temperature [degC].
    theta
        Factor per degree [-].

    Returns
    -------
    float
        Nitrogen set free as ammonia [g N/s].

    Notes
    -----
    k theta^(T - 20) N. This is why solids are drained before they rot.

    Examples
    --------
    >>> round(mineralised_n_g_s(10.0, 0.18 / 86400.0, 20.0) * 86400.0, 2)
    1.8

    References
    ----------
    judgement
    """
    return rate_20_per_s * theta_factor(temperature_degc, theta) * organic_nitrogen_g
