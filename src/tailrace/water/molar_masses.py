"""Molar masses: IUPAC standard atomic weights, abridged, and what is made of them.

The weights are those of iupac_2021 in the list of sources; a test compares them with a general
library of the elements.
"""

from __future__ import annotations

from typing import Final

HYDROGEN_G_MOL: Final = 1.008
CARBON_G_MOL: Final = 12.011
NITROGEN_G_MOL: Final = 14.007
OXYGEN_G_MOL: Final = 15.999
SODIUM_G_MOL: Final = 22.990
MAGNESIUM_G_MOL: Final = 24.305
PHOSPHORUS_G_MOL: Final = 30.974
SULFUR_G_MOL: Final = 32.06
CHLORINE_G_MOL: Final = 35.45
POTASSIUM_G_MOL: Final = 39.098
CALCIUM_G_MOL: Final = 40.078

NH3_G_MOL: Final = NITROGEN_G_MOL + 3 * HYDROGEN_G_MOL
NH4_G_MOL: Final = NITROGEN_G_MOL + 4 * HYDROGEN_G_MOL
NO2_G_MOL: Final = NITROGEN_G_MOL + 2 * OXYGEN_G_MOL
NO3_G_MOL: Final = NITROGEN_G_MOL + 3 * OXYGEN_G_MOL
PO4_G_MOL: Final = PHOSPHORUS_G_MOL + 4 * OXYGEN_G_MOL
SO4_G_MOL: Final = SULFUR_G_MOL + 4 * OXYGEN_G_MOL
P2O5_G_MOL: Final = 2 * PHOSPHORUS_G_MOL + 5 * OXYGEN_G_MOL
K2O_G_MOL: Final = 2 * POTASSIUM_G_MOL + OXYGEN_G_MOL
NACL_G_MOL: Final = SODIUM_G_MOL + CHLORINE_G_MOL
CAO_G_MOL: Final = CALCIUM_G_MOL + OXYGEN_G_MOL
O2_G_MOL: Final = 2 * OXYGEN_G_MOL
H2O_G_MOL: Final = 2 * HYDROGEN_G_MOL + OXYGEN_G_MOL
CL2_G_MOL: Final = 2 * CHLORINE_G_MOL
CO2_G_MOL: Final = CARBON_G_MOL + 2 * OXYGEN_G_MOL
HCO3_G_MOL: Final = HYDROGEN_G_MOL + CARBON_G_MOL + 3 * OXYGEN_G_MOL
CACO3_G_MOL: Final = CALCIUM_G_MOL + CARBON_G_MOL + 3 * OXYGEN_G_MOL
CACO3_G_EQ: Final = CACO3_G_MOL / 2  # an equivalent of alkalinity is half a mole of CaCO3
