"""Water and what is dissolved in it: plain functions of numbers.

``properties`` and ``air`` give the physical surroundings, ``oxygen``, ``ammonia``,
``sea_water_ammonia`` and ``carbon_dioxide`` what animals breathe and endure, ``activity`` the
correction for dissolved salt, and ``reported`` turns readings into the units kept inside.
Import from the module in which a thing lives.
"""
