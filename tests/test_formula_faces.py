"""What holds for every public formula: NaN goes through, a bad number is named, arrays broadcast.

Compiling one takes a fraction of a second, so of each package only some are called with arrays
here; ``TAILRACE_SOAK=1`` takes them all.
"""

from __future__ import annotations

import math
import os
import re
import warnings
from typing import Any

import numpy as np
import pytest

from tailrace.errors import OutsideRangeError
from tailrace.formula import Formula
from tests.docstrings import formulas

EVERY = formulas()
EACH_OF = 1 if os.environ.get("TAILRACE_SOAK") else 9
WITH_ARRAYS = list(EVERY)[::EACH_OF]


def _between(low: float, high: float, share: float) -> float:
    if math.isinf(high):
        return low + share
    if low > 0.0 and high / low > 100.0:
        return float(low * (high / low) ** share)
    return float(low + share * (high - low))


def sample(made: Formula, share: float) -> dict[str, float]:
    """Arguments inside every range; one without a range keeps its default, or is 1."""
    return {
        name: _between(*made.valid[name], share)
        if name in made.valid
        else float(made.defaults.get(name, 1.0))
        for name in made.parameters
    }


@pytest.mark.parametrize("name", EVERY)
def test_nan_in_any_place_gives_nan(name: str) -> None:
    made: Any = EVERY[name]
    for parameter in made.parameters:
        given = sample(made, 0.5) | {parameter: math.nan}
        assert math.isnan(made(**given)), parameter


@pytest.mark.parametrize("name", EVERY)
def test_a_number_outside_its_range_is_refused_by_name_and_may_be_nan_instead(name: str) -> None:
    made: Any = EVERY[name]
    for parameter, (low, high) in made.valid.items():
        for bad in (low - 0.01 * abs(low) - 1e-6, high + 0.01 * abs(high) + 1e-6):
            if low <= bad <= high:  # an open end
                continue
            given = sample(made, 0.5) | {parameter: bad}
            with pytest.raises(OutsideRangeError, match=re.escape(f"outside {low:g} to {high:g}")):
                made(**given)
            assert math.isnan(made(**given, outside="nan"))


@pytest.mark.parametrize("name", WITH_ARRAYS)
def test_arrays_broadcast_and_give_the_numbers_of_floats(name: str) -> None:
    made: Any = EVERY[name]
    first, *others = made.parameters
    shares = (0.4, 0.5, 0.6)
    column = [[sample(made, share)[first]] for share in shares]
    rows = {p: [sample(made, s)[p] for s in shares] for p in others} or {}
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        answer = made(**{first: np.array(column)}, **{p: np.array(v) for p, v in rows.items()})
    assert answer.shape == ((3, 3) if others else (3, 1))
    for i, j in ((0, 0), (2, 1)) if others else ((0, 0), (2, 0)):
        alone = {first: column[i][0]} | {p: v[j] for p, v in rows.items()}
        float_face = made.unchecked()(*(alone[p] for p in made.parameters))
        assert answer[i, j] == pytest.approx(float_face, rel=1e-12, nan_ok=True)
