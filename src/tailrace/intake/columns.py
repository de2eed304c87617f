"""What each column of a table is used for: proposed from its header, changed by a person, kept.

A long table has one row for each thing seen, with the columns `what` and `value`; a wide one has
one row for each round and a column for each quantity. Words are in ``columns.csv`` and in
`tailrace.quantities.words`.
"""

from __future__ import annotations

import csv
import hashlib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

from tailrace.errors import InputError
from tailrace.intake.dates import DateOrder
from tailrace.quantities import subjects, words
from tailrace.units import DecimalSign, basis_of, find_unit, split_basis

NOT_USED = ""
SUBJECT = "subject"
OF_RECORD = "record: "  # begins the header of a column that an export worked out; left out
_BRACKET = re.compile(r"(.*?)\s*[\(\[](.*)[\)\]]")
_ORDERS: tuple[DateOrder, ...] = ("month first", "day first")
_SIGNS: tuple[DecimalSign, ...] = ("comma", "point")


@dataclass(frozen=True, slots=True)
class Use:
    """What one column is used for.

    Parameters
    ----------
    header
        Its header as written.
    column
        ``when``, ``value`` ... of ``columns.csv``; ``subject`` for a column of one quantity;
        empty when it is not known: its cells go into the note.
    word
        Word for the quantity, for a column of one quantity.
    unit
        Unit that holds for the column; with its basis where the header says one.
    place
        Place that the header names.
    """

    header: str
    column: str = NOT_USED
    word: str = ""
    unit: str = ""
    place: str = ""

    @property
    def said(self) -> str:
        """What it is used for, in words."""
        if self.column.startswith(OF_RECORD):
            return "left out: worked out when it was written from a record"
        if self.column != SUBJECT:
            return self.column or "kept in the note"
        parts = [subjects()[words()[self.word]].label]
        parts += [f"in {self.unit}"] if self.unit else []
        parts += [f"at {self.place}"] if self.place else []
        return " ".join(parts)


@dataclass(frozen=True, slots=True)
class Mapping:
    """What the columns of a table are used for, and what a person settled about it.

    Parameters
    ----------
    uses
        Use of each column, from the left.
    order
        Order of dates that a person gave; None to settle it by the rows.
    decimal
        Decimal sign that a person gave; None to settle it by the rows.
    """

    uses: tuple[Use, ...]
    order: DateOrder | None = None
    decimal: DecimalSign | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """Headers as written."""
        return tuple(use.header for use in self.uses)

    @property
    def key(self) -> str:
        """Digest of the headers: tables of one source have the same."""
        plain = "\x1f".join(" ".join(name.casefold().split()) for name in self.names)
        return hashlib.sha256(plain.encode()).hexdigest()[:32]

    @property
    def wide(self) -> bool:
        """Whether it has a column for each quantity and none that says what a row is."""
        return "what" not in self._columns and SUBJECT in self._columns

    @property
    def usable(self) -> bool:
        """Whether it has a date and says what was seen."""
        return bool({"when", "date"} & self._columns) and ("what" in self._columns or self.wide)

    @property
    def known(self) -> int:
        """Number of columns that are used."""
        return sum(bool(use.column) for use in self.uses)

    @property
    def _columns(self) -> set[str]:
        return {use.column for use in self.uses}

    def doubles(self) -> list[tuple[str, list[str]]]:
        """Return what more than one column means, with their headers."""
        found: dict[str, list[str]] = {}
        for use in self.uses:
            if use.column and (use.column != SUBJECT or self.wide):
                found.setdefault(use.said if use.column == SUBJECT else use.column, []).append(
                    use.header
                )
        return sorted((what, headers) for what, headers in found.items() if len(headers) > 1)

    def changed(self, header: str, said: str) -> Mapping:
        """Return the mapping with another use of a column.

        Parameters
        ----------
        header
            Header of the column, or its number from 1.
        said
            ``when``, ``note`` ..., a quantity with or without unit such as ``temp degF``, or
            ``nothing``.

        Returns
        -------
        Mapping
            The new mapping.

        Raises
        ------
        InputError
            There is no such column, or the use is not known.
        """
        place = self._place(header)
        use = _said_use(self.uses[place].header, said)
        return replace(self, uses=(*self.uses[:place], use, *self.uses[place + 1 :]))

    def _place(self, header: str) -> int:
        plain = header.casefold().strip()
        for place, name in enumerate(self.names):
            if name.casefold() == plain:
                return place
        if plain.isdecimal() and 1 <= int(plain) <= len(self.uses):
            return int(plain) - 1
        told = ", ".join(name for name in self.names if name)
        raise InputError(f"there is no column {header!r}; the file has: {told}.")

    def to_plain(self) -> dict[str, Any]:
        """Return it as plain values, to be kept."""
        return {
            "uses": [[u.header, u.column, u.word, u.unit, u.place] for u in self.uses],
            "order": self.order,
            "decimal": self.decimal,
        }

    @classmethod
    def from_plain(cls, kept: dict[str, Any]) -> Mapping:
        """Return the mapping that `to_plain` wrote.

        Parameters
        ----------
        kept
            Plain values.

        Returns
        -------
        Mapping
            The mapping; a quantity that is no longer known is not used.
        """
        uses = [Use(*map(str, row)) for row in kept["uses"]]
        known = [u if u.column != SUBJECT or u.word in words() else Use(u.header) for u in uses]
        return cls(tuple(known), kept.get("order"), kept.get("decimal"))


def date_order(text: str | None) -> DateOrder | None:
    """Read an order of dates that a person gave.

    Parameters
    ----------
    text
        ``month first`` or ``day first``, with or without the second word; None for none.

    Returns
    -------
    str or None
        The order.

    Raises
    ------
    InputError
        It is another word.

    Examples
    --------
    >>> date_order("day-first")
    'day first'
    """
    plain = (text or "").replace("-", " ").casefold().strip()
    for order in _ORDERS:
        if plain in {order, order.partition(" ")[0]}:
            return order
    if plain:
        raise InputError(f"the order of dates is {text!r}; it is 'month first' or 'day first'.")
    return None


def decimal_sign(text: str | None) -> DecimalSign | None:
    """Read a decimal sign that a person gave.

    Parameters
    ----------
    text
        ``comma`` or ``point``; None for none.

    Returns
    -------
    str or None
        The sign.

    Raises
    ------
    InputError
        It is another word.
    """
    plain = (text or "").casefold().strip()
    for sign in _SIGNS:
        if plain == sign:
            return sign
    if plain:
        raise InputError(f"the decimal sign is {text!r}; it is 'comma' or 'point'.")
    return None


@cache
def column_words() -> dict[str, str]:
    """Return the words that a header may hold.

    Returns
    -------
    dict
        Lower-case word to column.

    Examples
    --------
    >>> column_words()["remarks"]
    'note'
    """
    with files("tailrace.intake").joinpath("columns.csv").open(encoding="utf-8") as stream:
        return {row["word"]: row["column"] for row in csv.DictReader(stream)}


def propose(names: Sequence[str], places: Iterable[str] = ()) -> Mapping:
    """Propose what the columns of a header are used for.

    Parameters
    ----------
    names
        Cells of the header.
    places
        Names of places that a column's name may hold.

    Returns
    -------
    Mapping
        Use of each column; a column of one quantity is used only where no column says what
        each row is.

    Examples
    --------
    >>> [use.said for use in propose(["Date", "Temp (F)", "mood"]).uses]
    ['date', 'water temperature in F', 'kept in the note']
    """
    known = tuple(place.casefold() for place in places)
    uses = [_use(name, known) for name in names]
    if any(use.column == "what" for use in uses):
        uses = [Use(u.header, unit=u.unit) if u.column == SUBJECT else u for u in uses]
    return Mapping(tuple(uses))


def _plain(text: str) -> str:
    return " ".join(text.replace("_", " ").casefold().strip(" :.*#?,-").split())


def _use(name: str, places: tuple[str, ...]) -> Use:
    if name.casefold().startswith(OF_RECORD):
        return Use(name, name.casefold())
    bracket = _BRACKET.fullmatch(name)
    word, hint = (bracket[1], bracket[2].strip()) if bracket else (name, "")
    column = column_words().get(_plain(word), "")
    if column:
        return Use(name, column, unit=hint)
    return _quantity(name, word, hint, places) or Use(name)


def _quantity(name: str, word: str, hint: str, places: tuple[str, ...]) -> Use | None:
    """Return the use of a column of one quantity, or None."""
    text, place = _without_place(_plain(word), places)
    hint_place = hint if hint.casefold() in places else ""
    unit = "" if hint_place else hint
    parts = text.split()
    for length in range(len(parts), 0, -1):
        head, tail = " ".join(parts[:length]), " ".join(parts[length:])
        if head in words() and (not tail or _unit_like(tail)):
            written = _as_written(word, tail)
            if not unit or _unit_like(unit) or not tail:
                return Use(name, SUBJECT, head, " ".join(filter(None, (written, unit))),
                           place or hint_place)  # fmt: skip
    return None


def _without_place(text: str, places: tuple[str, ...]) -> tuple[str, str]:
    if text in words():
        return text, ""
    for place in sorted(places, key=len, reverse=True):
        for cut in (text.removesuffix(f" {place}"), text.removeprefix(f"{place} ")):
            if cut not in (text, "") and cut:
                return cut, place
    return text, ""


def _unit_like(text: str) -> bool:
    plain, basis = split_basis(text)
    return bool(find_unit(plain)) or (not plain and bool(basis)) or bool(basis_of(text))


def _as_written(word: str, tail: str) -> str:
    """Return the tail of a name in its own case: mS is not MS."""
    clean = " ".join(word.replace("_", " ").strip(" :.*#?,-").split())
    return clean[len(clean) - len(tail) :] if tail else ""


def _said_use(header: str, said: str) -> Use:
    plain = _plain(said)
    if plain in {"", "nothing", "ignore", "not used", "skip"}:
        return Use(header)
    if plain in column_words():
        return Use(header, column_words()[plain], unit="")
    bracket = _BRACKET.fullmatch(said.strip())
    word, hint = (bracket[1], bracket[2].strip()) if bracket else (said, "")
    found = _quantity(header, word, hint, ())
    if found is None:
        columns = ", ".join(dict.fromkeys(column_words().values()))
        raise InputError(
            f"a column cannot be used for {said!r}; it is one of {columns}, a quantity with or "
            f"without its unit such as 'temp degF', or 'nothing'."
        )
    return found
