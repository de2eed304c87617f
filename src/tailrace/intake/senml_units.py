"""Units of SenML in the words that people use: degC for Cel, a percentage for a share.

Samples are kept as they were sent; this is for showing them.
"""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files


@cache
def _rows() -> dict[str, tuple[str, float]]:
    with files("tailrace.intake").joinpath("senml_units.csv").open(encoding="utf-8") as stream:
        return {
            row["symbol"]: (row["unit"], float(row["factor"])) for row in csv.DictReader(stream)
        }


def familiar_unit(symbol: str) -> tuple[str, float]:
    """Return the familiar unit of a symbol and the factor to it.

    Parameters
    ----------
    symbol
        Unit as sent.

    Returns
    -------
    tuple
        Unit, and what a value is multiplied by; a unit that is not in the registry stays as it
        is. In the registry ``%`` means the same share from 0 to 1 as ``/`` does.

    References
    ----------
    jennings_2018

    Examples
    --------
    >>> familiar_unit("Cel"), familiar_unit("/"), familiar_unit("mg/L")
    (('degC', 1.0), ('%', 100.0), ('mg/L', 1.0))
    """
    return _rows().get(symbol, (symbol, 1.0))
