"""Where the machine code of what is compiled apart stands."""

from __future__ import annotations

import subprocess
import sys
from functools import cache
from operator import attrgetter
from typing import Any

from tailrace.simulation import processes
from tailrace.simulation.apart import TYPES
from tailrace.simulation.compiled import apart_kernel, is_kept
from tailrace.simulation.outputs import write_outputs

# In the order of `apart.TYPES`.
_KERNELS: tuple[Any, ...] = tuple(
    apart_kernel(function)
    for function in (processes.derivative, write_outputs, processes.derive_anew)
)


NOWHERE = (0,) * len(TYPES)


@cache
def addresses() -> tuple[int, ...]:
    """Compile what is compiled apart, or take it from the cache.

    Returns
    -------
    tuple of int
        Addresses in the order of `apart.TYPES`.
    """
    return tuple(_address(*pair) for pair in zip(_KERNELS, TYPES, strict=True))


def _address(kernel: Any, kinds: tuple[Any, ...]) -> int:
    kernel.compile(kinds)
    machine_code, described = attrgetter("library", "fndesc")(kernel.overloads[kinds])
    return int(machine_code.get_pointer_to_function(described.llvm_func_name))


def compile_elsewhere() -> subprocess.Popen[bytes] | None:
    """Have another process compile it into the cache.

    Returns
    -------
    Popen
        The process, or None where none can be started. Whether it succeeds need not be known:
        `addresses` compiles what is missing.
    """
    if not is_kept() or not sys.executable or getattr(sys, "frozen", False):
        return None
    words = [sys.executable, "-c", f"from {__name__} import addresses; addresses()"]
    quiet = subprocess.DEVNULL
    try:
        return subprocess.Popen(words, stdin=quiet, stdout=quiet, stderr=quiet)  # our own words
    except OSError:
        return None
