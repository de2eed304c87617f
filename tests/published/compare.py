"""Whether what came out agrees with what was published."""

from __future__ import annotations

from tests.published.rows import Row, Value

_ENDS_AGREE = 0.05  # two ranges agree when both ends do, within this share
_ROUNDING = 1e-9  # so that a value on the edge of a tolerance does not hang on the last bit


def agrees(row: Row, got: Value) -> bool:
    """Compare in the row's unit, by the row's tolerance."""
    wanted = row.expected
    if isinstance(wanted, str) or isinstance(got, str):
        return wanted == got
    if isinstance(wanted, tuple):
        return _in_range(wanted, got)
    if isinstance(got, tuple):
        return False
    return abs(got - wanted) <= allowance(row.tolerance, wanted) + _ROUNDING * abs(wanted)


def allowance(tolerance: str, wanted: float) -> float:
    """``abs:x``, ``rel:x`` or ``exact``, as a difference."""
    kind, _, size = tolerance.partition(":")
    if kind == "abs":
        return float(size)
    if kind == "rel":
        return float(size) * abs(wanted)
    if kind == "exact":
        return 0.0
    message = f"tolerance {tolerance!r}: use abs:x, rel:x, exact, or range with lo..hi"
    raise ValueError(message)


def _in_range(wanted: tuple[float, float], got: float | tuple[float, float]) -> bool:
    low, high = wanted
    if isinstance(got, tuple):
        return all(
            abs(ours - theirs) <= _ENDS_AGREE * abs(theirs)
            for ours, theirs in zip(got, wanted, strict=True)
        )
    return low <= got <= high
