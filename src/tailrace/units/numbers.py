"""Numbers as people type them: decimal commas, thousands, fractions, small number words.

One comma before three digits may be either sign, so it is refused with both readings unless
the caller knows which it is. Open `tailrace.units.parse` for whole quantities.
"""

from __future__ import annotations

import re
from typing import Literal

from tailrace.errors import InputError

DecimalSign = Literal["comma", "point"]

_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8"}
_WORDS = {
    "zero": 0.0, "none": 0.0, "nil": 0.0, "a": 1.0, "an": 1.0, "one": 1.0, "two": 2.0,
    "three": 3.0, "four": 4.0, "five": 5.0, "six": 6.0, "seven": 7.0, "eight": 8.0,
    "nine": 9.0, "ten": 10.0, "twelve": 12.0, "half": 0.5, "half a": 0.5, "half an": 0.5,
    "a half": 0.5, "one half": 0.5, "a quarter": 0.25, "quarter": 0.25,
    "one and a half": 1.5, "a third": 1 / 3, "two thirds": 2 / 3,
}  # fmt: skip
_SPACES = dict.fromkeys(map(ord, "\u00a0\u2007\u2009\u202f"), " ")
_DASHES = dict.fromkeys(map(ord, "\u2010\u2011\u2012\u2013\u2014\u2212"), "-")
_PLAIN = r"[+-]?(?:\d[\d.,']*|[.,]\d+)(?:[eE][+-]?\d+)?"
_GROUPED = r"[+-]?\d{1,3}(?: \d{3})+(?:[.,]\d+)?(?!\d)"
_FRACTION = r"[+-]?\d+ ?/ ?\d+(?!\d)"
_MIXED = r"[+-]?\d+[ -]\d+ ?/ ?\d+(?!\d)"
_WORD = "|".join(sorted(_WORDS, key=len, reverse=True))
NUMBER = rf"(?:{_MIXED}|{_FRACTION}|{_GROUPED}|{_PLAIN}|(?:{_WORD})\b)"


class AmbiguousNumberError(InputError):
    """A number such as ``1,250`` can be read two ways.

    Parameters
    ----------
    text
        The number as typed.
    readings
        Both values: with the sign as a decimal sign, and as a thousands sign.
    """

    def __init__(self, text: str, readings: tuple[float, float]) -> None:
        self.text = text
        self.readings = readings
        small, large = readings
        super().__init__(
            f"the number {text!r} can be read as {small:g} or as {large:.0f}; "
            f"write {small:g} or {large:.0f}, with a point for decimals and no thousands sign."
        )


def plain_text(text: str) -> str:
    """Return text with one kind of blank, dash and fraction, trimmed.

    Parameters
    ----------
    text
        Text as typed.

    Returns
    -------
    str
        The text that the number rules read.

    Examples
    --------
    >>> plain_text(" 1½–2 ")
    '1 1/2-2'
    """
    text = text.translate(_SPACES).translate(_DASHES).replace("\u2019", "'")
    for sign, written in _VULGAR.items():
        text = re.sub(rf"(?<=\d){sign}", f" {written}", text).replace(sign, written)
    return " ".join(text.split())


def decimal_evidence(text: str) -> DecimalSign | None:
    """Return the decimal sign that a number shows beyond doubt.

    Parameters
    ----------
    text
        One number as typed.

    Returns
    -------
    str or None
        ``comma`` or ``point``; None when it has neither, or allows both.

    Examples
    --------
    >>> decimal_evidence("0,35"), decimal_evidence("1,250.5"), decimal_evidence("1,250")
    ('comma', 'point', None)
    """
    if "," in text and "." in text:
        return "comma" if text.rfind(",") > text.rfind(".") else "point"
    for sign, name in ((",", "comma"), (".", "point")):
        if text.count(sign) > 1:
            return "point" if name == "comma" else "comma"
        if text.count(sign) == 1 and not _may_be_thousands(text, sign):
            return name  # type: ignore[return-value]  # both literals stand in the tuple
    return None


def _may_be_thousands(text: str, sign: str) -> bool:
    before, _, after = text.lstrip("+-").partition(sign)
    return bool(re.fullmatch(r"[1-9]\d{0,2}", before) and re.fullmatch(r"\d{3}", after))


def parse_number(text: str, *, decimal: DecimalSign | None = None) -> float:
    """Read one number.

    Parameters
    ----------
    text
        The number as typed: digits, a fraction, or a small number word.
    decimal
        Decimal sign, where it is known; it settles ``1,250``.

    Returns
    -------
    float
        The value.

    Raises
    ------
    AmbiguousNumberError
        One comma stands before three digits and `decimal` is not given.
    InputError
        It is not a number.

    Examples
    --------
    >>> parse_number("0,35"), parse_number("1 1/2"), parse_number("1,250", decimal="point")
    (0.35, 1.5, 1250.0)
    """
    plain = plain_text(text)
    if plain.casefold() in _WORDS:
        return _WORDS[plain.casefold()]
    if "/" in plain:
        return _fraction(plain)
    digits = re.sub(r"(?<=\d)[ '](?=\d{3}(?!\d))", "", plain)
    sign = decimal_evidence(digits) or decimal
    if sign is None and "," in digits:
        small, large = digits.replace(",", "."), digits.replace(",", "")
        raise AmbiguousNumberError(plain, (float(small), float(large)))
    thousands, point = (".", ",") if sign == "comma" else (",", ".")
    if thousands in digits and not re.match(rf"[+-]?\d+(\{thousands}\d{{3}})+(?!\d)", digits):
        raise InputError(f"{plain!r} is not a number; write it such as 0.35, 0,35 or 1 1/2.")
    return _float(digits.replace(thousands, "").replace(point, "."), plain)


def _fraction(plain: str) -> float:
    whole, over = re.fullmatch(r"([+-]?\d+[ -](?=\d+ ?/))?(.*)", plain, re.DOTALL).groups()  # type: ignore[union-attr]  # the second part takes anything
    top, _, bottom = over.partition("/")
    value = _float(top, plain)
    divisor = _float(bottom, plain)
    if divisor == 0.0:
        raise InputError(f"the fraction {plain!r} divides by zero; write such as 1/2.")
    part = value / divisor
    if not whole:
        return part
    first = float(whole.strip(" -") if not whole.startswith("-") else "-" + whole[1:].strip(" -"))
    return first - part if first < 0 else first + part


def _float(digits: str, plain: str) -> float:
    try:
        value = float(digits.strip())
    except ValueError:
        value = float("nan")
    if not abs(value) < float("inf"):
        message = f"{plain!r} is not a number; write it such as 0.35, 0,35 or 1 1/2."
        raise InputError(message)
    return value
