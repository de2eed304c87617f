"""Crops on the loop's water: light, water use, uptake, area, and printed facts with sources.

``sunshine`` and ``evapotranspiration`` go from weather to water use, ``light`` counts photons,
``uptake`` and ``planting`` nutrients, area and harvest, ``solution`` what salts bring, ``facts``
what is printed. Import from the module in which a thing lives.
"""
