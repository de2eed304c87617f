"""One definition, two faces: a formula is written once as a scalar function.

`formula` turns a scalar kernel into a `Formula`. Called with plain numbers it checks their
ranges and runs the kernel; called with arrays it runs the same kernel as a ufunc compiled at
first use. The engine takes the compiled scalar from `Formula.dispatcher`. There is no second
copy of any formula.
"""

from __future__ import annotations

import inspect
import math
import types
import warnings
from collections.abc import Callable, Iterator, Mapping
from functools import update_wrapper
from typing import Any, Literal, overload

import numpy as np
from numpy.typing import NDArray

from tailrace.errors import OutsideRangeError, OutsideRangeWarning
from tailrace.quantities import split_suffix

Outside = Literal["raise", "nan", "extrapolate"]
_PLAIN = frozenset({float, int})
_REGISTRY: dict[str, Formula] = {}


class Formula:
    """A scalar formula with range checks, which also takes arrays.

    Parameters
    ----------
    kernel
        Scalar function of floats made of plain arithmetic and ``math``.
    valid
        Parameter name to (low, high), the range in which the equation holds.
    """

    def __init__(
        self, kernel: Callable[..., float], valid: Mapping[str, tuple[float, float]]
    ) -> None:
        update_wrapper(self, kernel)
        self.kernel = kernel
        self.name = f"{kernel.__module__}.{kernel.__qualname__}"
        signature = inspect.signature(kernel)
        kinds = {parameter.kind for parameter in signature.parameters.values()}
        if kinds - {inspect.Parameter.POSITIONAL_OR_KEYWORD}:
            message = f"{self.name}: a kernel takes plain parameters only, none by keyword alone"
            raise TypeError(message)
        self.parameters = tuple(signature.parameters)
        self.defaults = {
            name: parameter.default
            for name, parameter in signature.parameters.items()
            if parameter.default is not inspect.Parameter.empty
        }
        unknown = set(valid) - set(self.parameters)
        if unknown:
            message = f"{self.name}: ranges given for unknown parameters {sorted(unknown)}"
            raise TypeError(message)
        self.valid = dict(valid)
        self._bounds = [(self.parameters.index(name), *ends) for name, ends in valid.items()]
        self._dispatcher: Callable[..., float] | None = None
        self._unchecked: Callable[..., float] | None = None
        self._ufunc: Callable[..., Any] | None = None

    @overload
    def __call__(self, *args: float, outside: Outside = "raise", **kwargs: float) -> float: ...
    @overload
    def __call__(
        self, *args: Any, outside: Outside = "raise", **kwargs: Any
    ) -> NDArray[np.float64]: ...

    def __call__(self, *args: Any, outside: Outside = "raise", **kwargs: Any) -> Any:
        """Evaluate the formula; see the kernel's own docstring.

        Parameters
        ----------
        *args, **kwargs
            The kernel's parameters, floats or arrays that broadcast.
        outside
            What to do outside the valid range: ``raise`` an `OutsideRangeError`, return
            ``nan`` there, or ``extrapolate`` with an `OutsideRangeWarning`.

        Returns
        -------
        float or ndarray
            A float for floats, else an array of the broadcast shape.

        Raises
        ------
        OutsideRangeError
            An argument lies outside its range and `outside` is ``raise``.
        """
        values = args
        if kwargs or len(args) != len(self.parameters):
            values = tuple(self._bind(args, kwargs))
        if not _PLAIN.issuperset(map(type, values)) and any(map(_is_array, values)):
            return self._on_arrays(dict(zip(self.parameters, values, strict=True)), outside)
        beyond = [b for b in self._bounds if values[b[0]] < b[1] or values[b[0]] > b[2]]
        for place, low, high in beyond if outside != "nan" else ():
            text = _sentence(self.parameters[place], float(values[place]), low, high)
            if outside == "raise":
                raise OutsideRangeError(text)
            warnings.warn(text, OutsideRangeWarning, stacklevel=2)
        if (beyond and outside == "nan") or any(map(math.isnan, values)):
            return math.nan
        if outside == "extrapolate":
            return self.unchecked()(*values)
        return self.kernel(*values)

    def _bind(self, args: tuple[Any, ...], kwargs: dict[str, Any]) -> Iterator[Any]:
        if len(args) > len(self.parameters):
            message = f"{self.__name__}() takes {len(self.parameters)} arguments, got {len(args)}"  # type: ignore[attr-defined]  # set by update_wrapper
            raise TypeError(message)
        given = dict(zip(self.parameters, args, strict=False))
        values = {**self.defaults, **given, **kwargs}
        wrong = (set(values) ^ set(self.parameters)) | (set(given) & set(kwargs))
        if wrong:
            message = f"{self.name}: missing, unknown or doubled arguments {sorted(wrong)}"
            raise TypeError(message)
        return (values[name] for name in self.parameters)

    def _on_arrays(self, values: dict[str, Any], outside: Outside) -> NDArray[np.float64]:
        by_name = {name: np.asarray(v, dtype=np.float64) for name, v in values.items()}
        shape = np.broadcast_shapes(*(array.shape for array in by_name.values()))
        by_name = {name: np.broadcast_to(array, shape) for name, array in by_name.items()}
        arrays = list(by_name.values())
        bad = np.zeros(shape, dtype=bool)
        for name, (low, high) in self.valid.items():
            wrong = (by_name[name] < low) | (by_name[name] > high)
            if wrong.any() and outside != "nan":
                first = tuple(int(i) for i in np.argwhere(wrong)[0])
                text = _sentence(name, float(by_name[name][first]), low, high)
                text += f" First at index {first}; {int(wrong.sum())} of {wrong.size} values."
                if outside == "raise":
                    raise OutsideRangeError(text)
                warnings.warn(text, OutsideRangeWarning, stacklevel=3)
            bad |= wrong
        if self._ufunc is None:
            import numba  # noqa: PLC0415  # slow to import, wanted by few

            self._ufunc = numba.vectorize(self._with_callees(Formula.dispatcher))  # type: ignore[no-untyped-call]
        with np.errstate(all="ignore"):
            result = np.asarray(self._ufunc(*arrays), dtype=np.float64)
        missing = np.logical_or.reduce([np.isnan(a) for a in arrays])
        return np.where(missing | (bad & (outside == "nan")), np.nan, result)

    def _with_callees(self, face: Callable[[Formula], Callable[..., float]]) -> Any:
        """Return the kernel with each formula that it calls replaced by a face of it."""
        function = self.kernel
        assert isinstance(function, types.FunctionType)
        scope = dict(function.__globals__)
        for name in function.__code__.co_names:
            callee = scope.get(name)
            if isinstance(callee, Formula):
                scope[name] = face(callee)
        return types.FunctionType(
            function.__code__, scope, function.__name__, function.__defaults__
        )

    def unchecked(self) -> Callable[..., float]:
        """Return the kernel as a plain function that checks no range, its own or a callee's.

        Returns
        -------
        callable
            A function of the kernel's parameters that returns a float.
        """
        if self._unchecked is None:
            self._unchecked = self._with_callees(Formula.unchecked)
        assert self._unchecked is not None
        return self._unchecked

    def dispatcher(self) -> Callable[..., float]:
        """Return the kernel compiled as a scalar function, without range checks.

        Returns
        -------
        callable
            A function of the kernel's parameters that returns a float.
        """
        if self._dispatcher is None:
            import numba  # noqa: PLC0415  # slow to import, wanted by few

            self._dispatcher = numba.njit(self._with_callees(Formula.dispatcher))
        assert self._dispatcher is not None
        return self._dispatcher


def _is_array(value: object) -> bool:
    return isinstance(value, (np.ndarray, list, tuple))


def _sentence(name: str, value: float, low: float, high: float) -> str:
    label, suffix = split_suffix(name)
    unit = "" if suffix is None or suffix.unit == "-" else f" {suffix.unit}"
    label = "pH" if label == "ph" else label
    text = f"{label} is {value:g}{unit}, outside {low:g} to {high:g}{unit}."
    return text + _hint(label, unit.strip(), value, high)


def _hint(label: str, unit: str, value: float, high: float) -> str:
    if unit == "degC" and value > 200:
        return " Was it given in kelvin?"
    if unit == "degC" and value > high:
        return " Was it given in Fahrenheit?"
    if label == "pH" and 14 < value <= 140:
        return f" Was {value / 10:g} meant?"
    return ""


def formula(
    **valid: tuple[float, float],
) -> Callable[[Callable[..., float]], Formula]:
    """Turn a scalar kernel into a `Formula` and enter it in the register.

    Parameters
    ----------
    **valid
        Parameter name to (low, high), the range in which the equation holds.

    Returns
    -------
    callable
        The decorator.

    Examples
    --------
    >>> @formula(depth_m=(0.0, 10.0))
    ... def doubled_m(depth_m):
    ...     return 2.0 * depth_m
    >>> doubled_m(2.5)
    5.0
    >>> doubled_m(25.0)
    Traceback (most recent call last):
    tailrace.errors.OutsideRangeError: depth is 25 m, outside 0 to 10 m.
    """

    def decorate(kernel: Callable[..., float]) -> Formula:
        made = Formula(kernel, valid)
        if kernel.__module__.startswith("tailrace."):
            _REGISTRY[made.name] = made
        return made

    return decorate


def register() -> dict[str, Formula]:
    """Return every formula that has been imported, by its full name.

    Returns
    -------
    dict
        Full dotted name to `Formula`, sorted by name.

    Examples
    --------
    >>> all(name.startswith("tailrace.") for name in register())
    True
    """
    return dict(sorted(_REGISTRY.items()))
