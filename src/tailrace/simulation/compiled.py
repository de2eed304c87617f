"""How kernels are compiled and where the result is kept.

Numba's disk cache does not see an edit in a function that a kernel calls from another file, so
the cache stands in a folder named by a hash of every source a kernel can reach. Import `kernel`
from here, never `numba.njit` itself: the folder must be set before the first kernel is made.
"""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path
from typing import Any, TypeVar, cast

import platformdirs

PREPARING = "preparing the engine (once)"
_DONE = "prepared"  # a file of this name is left beside the cache when all kernels are in it
_SOURCES = ("simulation", "water", "pneumatics")

F = TypeVar("F", bound=Callable[..., object])


def _fingerprint() -> str:
    digest = hashlib.sha256()
    package = Path(__file__).parents[1]
    files = [package / "formula.py"]
    for folder in _SOURCES:
        files += sorted((package / folder).glob("*.py"))
    for file in files:
        digest.update(file.name.encode() + file.read_bytes())
    tools = (sys.version, version("numba"), version("llvmlite"), version("numpy"))
    digest.update(" ".join(tools).encode())
    return digest.hexdigest()[:16]


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def _kept() -> Path:
    return Path(platformdirs.user_cache_dir("tailrace")) / "engine" / _fingerprint()


def _cache_folder() -> Path:
    kept = _kept()
    return kept if _writable(kept) else Path(tempfile.mkdtemp(prefix="tailrace-engine-"))


CACHE_FOLDER = _cache_folder()
os.environ["NUMBA_CACHE_DIR"] = str(CACHE_FOLDER)

import numba  # noqa: E402  # the folder must be set first

# When another module imported numba before us; its types do not know the settings.
numba.config.CACHE_DIR = str(CACHE_FOLDER)  # type: ignore[attr-defined]
# Inner kernels are never called from Python; nor do the type hints know these two.
_INNER: Any = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True, "error_model": "numpy"}


def kernel(function: F) -> F:
    """Compile a module-level function that other kernels call.

    Parameters
    ----------
    function
        Plain arithmetic on floats and arrays; no closures, no Python objects.

    Returns
    -------
    callable
        The compiled function; ``py_func`` of it is the function itself.
    """
    return cast(F, numba.njit(**_INNER)(function))


def entry_kernel(function: F) -> F:
    """Compile a function that Python calls, and keep it on disk with all that it calls.

    It lets other threads run meanwhile, so that an ensemble can use every core.

    Parameters
    ----------
    function
        As for `kernel`.

    Returns
    -------
    callable
        The compiled function.
    """
    return cast(F, numba.njit(cache=True, nogil=True, error_model="numpy")(function))


def apart_kernel(function: F) -> F:
    """Make a kernel that others call by its address, and that is kept on disk by itself.

    Parameters
    ----------
    function
        As for `kernel`.

    Returns
    -------
    callable
        The kernel, not yet compiled: it must be told its types.
    """
    return cast(F, numba.njit(cache=True, **_INNER)(function))


def inlined_kernel(function: F) -> F:
    """Compile a function into each of its callers.

    For one that returns records, and for those between `derivative` and the entry: each of them
    would else be compiled with a whole right-hand side of its own.

    Parameters
    ----------
    function
        As for `kernel`.

    Returns
    -------
    callable
        The compiled function.
    """
    return cast(F, numba.njit(inline="always", error_model="numpy")(function))


def is_kept() -> bool:
    """Whether the cache stands where another process finds it.

    Returns
    -------
    bool
        False when the cache is a temporary folder of this process.
    """
    return CACHE_FOLDER.parent == _kept().parent


def is_prepared() -> bool:
    """Whether the kernels of this version stand compiled in the cache.

    Returns
    -------
    bool
        False before the first run after an installation or an update.
    """
    return (CACHE_FOLDER / _DONE).exists()


def mark_prepared() -> None:
    """Note that the kernels stand in the cache."""
    if not is_prepared():
        (CACHE_FOLDER / _DONE).touch()
