"""One system as built and as it began, in frozen records; no file, no unit conversion."""

from tailrace.site.records import (
    Bed,
    BedKind,
    Filter,
    Measure,
    Measured,
    Site,
    SourceWater,
    Start,
    Stock,
    Sump,
    Tank,
    Treatment,
    UnitFamily,
)

__all__ = [
    "Bed",
    "BedKind",
    "Filter",
    "Measure",
    "Measured",
    "Site",
    "SourceWater",
    "Start",
    "Stock",
    "Sump",
    "Tank",
    "Treatment",
    "UnitFamily",
]
