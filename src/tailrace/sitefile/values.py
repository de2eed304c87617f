"""One value of a site file: its type, its unit and its bounds, in words when it will not do.

Every reader takes a `Key`, the TOML value and a `Setting`, and returns what the site needs, in
SI, or raises `InputError`. Open `tailrace.sitefile.wording` for the
way back, and `tailrace.sitefile.check` for the whole file.
"""

from __future__ import annotations

import math
import re
import zoneinfo
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from typing import Any, Final

from tailrace.errors import InputError
from tailrace.sitefile.schema import Key, Kind
from tailrace.sitefile.wording import bounds_text, kept_bounds, near
from tailrace.units import parse, split_quantity

_A_DAY: Final = re.compile(r" *(?:/ *(?:day|d)|a day|per day|daily)\.?$", re.IGNORECASE)
_NAME: Final = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_LONGEST_TEXT: Final = 80
_DEGREES: Final = ("deg", "degree", "degrees", "°")
_TURNS: Final = ("turn", "turns")
OPENING_WORDS: Final = {"shut": 0.0, "closed": 0.0, "open": 1.0, "wide open": 1.0}
"""Words for a valve's two ends."""


@dataclass(frozen=True, slots=True)
class Setting:
    """What the check of a value may need to know of the rest of the file.

    Parameters
    ----------
    species
        Keys of the species table.
    measures
        The keeper's own measures: word to amount and suffix.
    family
        ``us`` or ``metric``.
    zone
        Time zone of the site; empty when not known.
    turns
        Turns of the bypass valve; None for a quarter-turn valve, NaN when not known.
    """

    species: tuple[str, ...] = ()
    measures: Mapping[str, tuple[float, str]] = field(default_factory=dict)
    family: str = "metric"
    zone: str = ""
    turns: float | None = None


def read_value(key: Key, value: Any, setting: Setting) -> Any:
    """Return a value in SI, or as the kind of its key asks.

    Parameters
    ----------
    key
        Key that it belongs to.
    value
        TOML value.
    setting
        What else must be known.

    Returns
    -------
    object
        float, (low, high), int, str, bool or aware datetime.

    Raises
    ------
    InputError
        The value will not do; the text says what to write.

    Examples
    --------
    >>> from tailrace.sitefile.schema import tables
    >>> round(read_value(tables()["tanks"]["volume"], "480 gal", Setting()), 3)
    1.817
    """
    found = _READERS[key.kind](key, value, setting)
    if not key.kind.counts:
        return found
    bounds = kept_bounds(key, key.hard)
    low, high = found if isinstance(found, tuple) else (found, found)
    if low < bounds[0] or high > bounds[1]:
        allowed = bounds_text(key, bounds, setting.family)
        raise InputError(f"is {_as_written(value)}, which cannot be; it is {allowed}")
    return found


def _as_written(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else str(value)


def _refusal(key: Key, value: Any) -> InputError:
    said = _as_written(value) if isinstance(value, str | int | float) else "not one plain value"
    return InputError(f"is {said}; write it like {key.name} = {key.written}")


def _interval(key: Key, value: Any, setting: Setting) -> tuple[float, float]:
    if not isinstance(value, str):
        if isinstance(value, int | float) and not isinstance(value, bool):
            message = f"is the number {value} without a unit; write it like {key.written}"
            raise InputError(message)
        raise _refusal(key, value)
    text = _A_DAY.sub("", value) if key.name == "ration" else value
    try:
        found = parse(text, key.suffix, measures=setting.measures)
    except InputError as error:
        raise InputError(f'is "{value}": {error}') from None
    if not (math.isfinite(found.low) and math.isfinite(found.high)):
        raise InputError(f'is "{value}", open at one end; write one value like {key.written}')
    return found.low, found.high


def _quantity(key: Key, value: Any, setting: Setting) -> float:
    low, high = _interval(key, value, setting)
    if low != high:
        message = f'is "{value}", which is not one value; write it like {key.written}'
        raise InputError(message)
    return low


def _share(key: Key, value: Any, setting: Setting) -> float:
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    return _quantity(key, f"{value}" if plain else value, setting)


def _number(key: Key, value: Any, setting: Setting) -> float:
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    text = re.sub(r" *turns?$", "", value) if isinstance(value, str) else value
    return _quantity(key, f"{value}" if plain else text, setting)


def _whole(key: Key, value: Any, setting: Setting) -> int:
    number = _number(key, value, setting)
    if number != int(number):
        raise InputError(f"is {_as_written(value)}; it is a whole number, like {key.written}")
    return int(number)


def _text(key: Key, value: Any, _setting: Setting) -> str:
    if not isinstance(value, str) or not value.strip():
        raise _refusal(key, value)
    plain = " ".join(value.split())
    if len(plain) > _LONGEST_TEXT or not plain.isprintable():
        raise InputError(f"is longer than {_LONGEST_TEXT} signs or holds signs that do not print")
    return plain


def _short_name(key: Key, value: Any, setting: Setting) -> str:
    text = _text(key, value, setting)
    if not _NAME.fullmatch(text):
        plain = re.sub(r"[^a-z0-9]+", "-", text.casefold()).strip("-") or key.example
        message = "it is lower-case letters, digits and single hyphens"
        raise InputError(f'is "{text}"; {message}, like "{plain}"')
    return text


def _one_of(value: Any, allowed: Iterable[str], many: str) -> str:
    words = tuple(allowed)
    plain = " ".join(value.split()) if isinstance(value, str) else ""
    for word in words:
        if plain.casefold() == word.casefold():
            return word
    listed = many or " or ".join(f'"{word}"' for word in words)
    raise InputError(f"is {_as_written(value)}; it is {listed}.{near(plain, words)}")


def _choice(key: Key, value: Any, _setting: Setting) -> str:
    return _one_of(value, key.choices, "")


def _zone(_key: Key, value: Any, _setting: Setting) -> str:
    many = 'a key of the IANA time zone database, such as "America/Denver" or "Europe/Berlin"'
    return _one_of(value, sorted(zoneinfo.available_timezones()), many)


def _species(_key: Key, value: Any, setting: Setting) -> str:
    plain = value.strip().replace(" ", "_").replace("-", "_") if isinstance(value, str) else value
    many = f"one of {', '.join(setting.species)}"
    return _one_of(plain, setting.species, many)


def _yes_no(key: Key, value: Any, _setting: Setting) -> bool:
    if not isinstance(value, bool):
        raise InputError(f"is {_as_written(value)}; write {key.name} = true or {key.name} = false")
    return value


def _moment(key: Key, value: Any, setting: Setting) -> datetime | None:
    if isinstance(value, str):
        try:
            value = datetime.fromisoformat(value.strip())
        except ValueError:
            raise _refusal(key, value) from None
    if isinstance(value, date) and not isinstance(value, datetime):
        value = datetime.combine(value, time())
    if not isinstance(value, datetime):
        raise _refusal(key, value)
    if value.tzinfo is not None:
        return value.astimezone(UTC)
    if not setting.zone:
        return None  # the zone is at fault and its fault is told
    local = value.replace(tzinfo=zoneinfo.ZoneInfo(setting.zone))
    moment = local.astimezone(UTC)
    if moment.astimezone(local.tzinfo).replace(tzinfo=None) != value:
        message = "falls in the hour that the clocks skip there; write another time"
        raise InputError(f"is {value.isoformat(' ', 'minutes')}, which {message}")
    return moment


def _opening(key: Key, value: Any, setting: Setting) -> float:
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    if not plain and not isinstance(value, str):
        raise _refusal(key, value)
    if str(value).casefold() in OPENING_WORDS:
        return OPENING_WORDS[str(value).casefold()]
    typed = split_quantity(str(value))
    if typed.low != typed.high:
        raise InputError(f'is "{value}"; write one value like {key.written}')
    unit = typed.unit.casefold().removesuffix(" open")
    travel = _travel(unit, setting.turns)
    return typed.low / travel if travel else _share(key, value, setting)


def _travel(unit: str, turns: float | None) -> float:
    """Return the handle's whole travel in a unit; 0 when the unit is a share of it."""
    if unit in _DEGREES:
        if turns is not None and not math.isnan(turns):
            raise InputError("is in degrees; a gate valve is counted in turns, or as a share")
        return 90.0
    if unit in _TURNS:
        if turns is None:
            raise InputError(
                "is in turns; a quarter-turn valve is counted in degrees or as a share. "
                'For a gate valve write valve = "gate" and turns in [filters.bypass]'
            )
        return turns
    return 0.0


_READERS: Final[Mapping[Kind, Callable[[Key, Any, Setting], Any]]] = {
    Kind.QUANTITY: _quantity,
    Kind.RANGE: _interval,
    Kind.SHARE: _share,
    Kind.NUMBER: _number,
    Kind.WHOLE: _whole,
    Kind.OPENING: _opening,
    Kind.TEXT: _text,
    Kind.SHORT_NAME: _short_name,
    Kind.CHOICE: _choice,
    Kind.YES_NO: _yes_no,
    Kind.ZONE: _zone,
    Kind.MOMENT: _moment,
    Kind.SPECIES: _species,
}
