"""Water and what is dissolved in it: plain functions of numbers.

Surroundings: ``properties``, ``air``. Gases: ``oxygen``, ``carbon_dioxide``, ``gases`` (nitrogen,
argon, total gas pressure). Ammonia: ``ammonia``, ``sea_water_ammonia``, and the published limits
in ``criteria``; ``nitrite`` has the shield of chloride. Acids and bases: ``activity``,
``acid_constants``, ``alkalinity``, ``carbonate`` (compiled, without ion pairs), ``calcite``.
Whole waters: ``chemistry`` (the record, mixing), ``species`` and ``speciation`` (with ion pairs),
``chemicals``, ``dosing`` and ``dosing_steps``. Handling: ``exchange``, ``dechlorination``.
Readings: ``reported`` turns them into the units kept inside. Import from the module in which a
thing lives.
"""
