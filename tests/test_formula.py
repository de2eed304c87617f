"""One definition, two faces: range checks, arrays and the compiled kernel."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tailrace.errors import OutsideRangeError, OutsideRangeWarning
from tailrace.formula import formula


@formula(temperature_degc=(0.0, 45.0))
def inner_pa(temperature_degc: float) -> float:
    """Twice the temperature."""
    return 2.0 * temperature_degc


@formula(temperature_degc=(0.0, 45.0))
def outer_pa(temperature_degc: float, added_pa: float = 1.0) -> float:
    """Call another formula."""
    return inner_pa(temperature_degc) + added_pa


def test_a_float_gives_a_float_and_an_array_the_same_numbers() -> None:
    values = np.array([[1.0, 20.0], [45.0, np.nan]])
    assert outer_pa(20.0) == 41.0
    got = outer_pa(values, added_pa=2.0)
    assert got.shape == (2, 2)
    np.testing.assert_array_equal(got, [[4.0, 42.0], [92.0, np.nan]])


def test_arguments_broadcast() -> None:
    assert outer_pa(np.array([1.0, 2.0]), added_pa=np.array([[0.0], [1.0]])).shape == (2, 2)


def test_nan_in_gives_nan_out() -> None:
    assert math.isnan(outer_pa(math.nan))


def test_kelvin_in_a_celsius_place_is_recognised() -> None:
    with pytest.raises(OutsideRangeError, match=r"298 degC, outside 0 to 45 degC. Was it given"):
        outer_pa(298.0)
    with pytest.raises(OutsideRangeError, match="Fahrenheit"):
        outer_pa(80.0)


def test_an_array_names_the_first_bad_index_and_the_count() -> None:
    with pytest.raises(OutsideRangeError, match=r"First at index \(1,\); 2 of 3 values"):
        outer_pa(np.array([1.0, 50.0, -3.0]))


def test_outside_nan_and_extrapolate() -> None:
    assert math.isnan(outer_pa(50.0, outside="nan"))
    np.testing.assert_array_equal(outer_pa(np.array([50.0, 1.0]), outside="nan"), [np.nan, 3.0])
    with pytest.warns(OutsideRangeWarning, match="50 degC"):
        assert outer_pa(50.0, outside="extrapolate") == 101.0
    with pytest.warns(OutsideRangeWarning, match="1 of 2"):
        assert outer_pa(np.array([50.0, 1.0]), outside="extrapolate")[0] == 101.0


def test_wrong_arguments_are_named() -> None:
    with pytest.raises(TypeError, match="added_kg"):
        outer_pa(1.0, added_kg=2.0)
    with pytest.raises(TypeError, match="temperature_degc"):
        outer_pa()


def test_a_keyword_only_kernel_is_refused() -> None:
    with pytest.raises(TypeError, match="none by keyword alone"):

        @formula()
        def bad(*, x_m: float) -> float:
            return x_m


def test_a_range_for_an_unknown_parameter_is_refused() -> None:
    with pytest.raises(TypeError, match="y_m"):

        @formula(y_m=(0.0, 1.0))
        def bad(x_m: float) -> float:
            return x_m
