"""Calls by address of what is compiled apart from its callers.

Numba compiles a kernel with a copy of all that it calls, so the stepper, the events and the entry
would each carry a whole right-hand side. They call it by an address that stands last in the
context: then it is compiled once, and in another process than they are.
"""

from __future__ import annotations

from typing import Any

import numba.core.cgutils
from llvmlite import ir  # type: ignore[import-untyped]  # has no types
from numba.core.errors import TypingError
from numba.extending import intrinsic as _intrinsic

from tailrace.simulation.fittings import CONTROL, DERIVED, GEOMETRY, PART
from tailrace.simulation.parameters import DTYPE

# Numba's type hints know neither its types nor how an intrinsic is called.
types: Any = numba.types
cgutils: Any = numba.core.cgutils
intrinsic: Any = _intrinsic

RATES, OUTPUTS, DERIVE = 0, 1, 2  # places of their addresses
_NUMBERS = types.Array(types.float64, 1, "C")
_CONTEXT = types.Tuple(
    (
        *(numba.from_dtype(dtype) for dtype in (DTYPE, GEOMETRY, DERIVED)),
        *(types.Array(numba.from_dtype(dtype), 1, "C") for dtype in (CONTROL, PART)),
        _NUMBERS,
        _NUMBERS,
        types.UniTuple(types.int64, 3),
    )
)
TYPES: tuple[tuple[Any, ...], ...] = (
    (types.float64, _NUMBERS, _NUMBERS, _CONTEXT),
    (_NUMBERS, _CONTEXT, _NUMBERS),
    (types.float64, _CONTEXT),
)


def _call(which: int, given: tuple[Any, ...]) -> Any:
    """Signature and generator of a call; refuses other types than were compiled."""
    kinds = TYPES[which]
    if given != kinds:
        message = f"what is compiled apart takes {kinds}, not {given}"
        raise TypingError(message)
    at = kinds.index(_CONTEXT)

    def generate(context: Any, builder: Any, _signature: Any, args: Any) -> Any:
        kind = context.call_conv.get_function_type(types.none, kinds)
        address = builder.extract_value(args[at], [len(_CONTEXT.types) - 1, which])
        function = builder.inttoptr(address, ir.PointerType(kind))
        # Numba's own convention: a result and an error come first; kernels raise none.
        outs = [cgutils.alloca_once(builder, kind.args[i].pointee) for i in range(2)]
        packed = context.get_arg_packer(kinds).as_arguments(builder, args)
        builder.call(function, [*outs, *packed])
        return context.get_dummy_value()

    return types.void(*kinds), generate


@intrinsic  # type: ignore[untyped-decorator]  # numba has no types
def rates_into(_typing: Any, t: Any, y: Any, dy: Any, c: Any) -> Any:
    """Call `processes.derivative`; its parameters."""
    return _call(RATES, (t, y, dy, c))


@intrinsic  # type: ignore[untyped-decorator]  # numba has no types
def outputs_into(_typing: Any, y: Any, c: Any, out: Any) -> Any:
    """Call `outputs.write_outputs`; its parameters."""
    return _call(OUTPUTS, (y, c, out))


@intrinsic  # type: ignore[untyped-decorator]  # numba has no types
def derive_at(_typing: Any, temperature_degc: Any, c: Any) -> Any:
    """Call `processes.derive_anew`; its parameters."""
    return _call(DERIVE, (temperature_degc, c))
