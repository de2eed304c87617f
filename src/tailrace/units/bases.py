"""The basis of a reported concentration: ``ppm as N`` and ``mg/L NO3`` are not the same.

Only words are handled here; the factors are in `tailrace.water.reported`.
"""

from __future__ import annotations

import re

_SPELLINGS = {
    "nh3-n": "N",
    "nh4-n": "N",
    "no2-n": "N",
    "no3-n": "N",
    "tan": "N",
    "nitrogen": "N",
    "n": "N",
    "nh3": "NH3",
    "nh4": "NH4",
    "nh4+": "NH4",
    "no2": "NO2",
    "no2-": "NO2",
    "nitrite": "NO2",
    "no3": "NO3",
    "no3-": "NO3",
    "nitrate": "NO3",
    "caco3": "CaCO3",
    "hco3": "HCO3",
    "hco3-": "HCO3",
    "cl": "Cl",
    "cl-": "Cl",
    "nacl": "NaCl",
}
_SUBSCRIPTS = str.maketrans("₂₃₄⁻⁺–−", "234-+--")
_FORMULA = r"(?:NH3-?N|NH4-?N|NO2-?N|NO3-?N|NH4\+?|NH3|NO2-?|NO3-?|CaCO3|HCO3-?|NaCl|TAN|Cl-?|N)"
_AFTER = re.compile(
    rf"^(?P<unit>.*?)[ ,_-]*(?:\bas\b|\()? *(?P<basis>{_FORMULA})\)?$", re.IGNORECASE
)
_WITHIN = re.compile(
    rf"^(?P<unit>[mu]?g) *-?(?P<basis>{_FORMULA}) *(?P<per>/ *(?:L|m3))$", re.IGNORECASE
)
_SAID = re.compile(
    rf"\b(?:as|reads?|reading|gives|in) +({_FORMULA})(?![A-Za-z0-9])"
    r"|(?<![A-Za-z0-9])(NH3-?N|NH4-?N|NO2-?N|NO3-?N|TAN)(?![A-Za-z0-9])"
)
_BOTH_FORMS = re.compile(r"[ (]*NH3 */ *NH4\+?\)?$", re.IGNORECASE)  # a name, not a basis


def basis_of(text: str) -> str:
    """Return the basis that a word names.

    Parameters
    ----------
    text
        A basis as typed, such as ``NO3-N``, ``as N`` or ``CaCO3``.

    Returns
    -------
    str
        Basis in the spelling of the table of subjects; empty when it names none.

    Examples
    --------
    >>> basis_of("NO3-N"), basis_of("as caco3"), basis_of("blue")
    ('N', 'CaCO3', '')
    """
    word = text.translate(_SUBSCRIPTS).strip().strip("()").casefold()
    word = word.removeprefix("as ").strip().replace(" ", "")
    if word in {"nh3n", "nh4n", "no2n", "no3n"}:
        return "N"
    return _SPELLINGS.get(word, "")


def basis_within(text: str) -> str:
    """Return the only basis that free words say, such as the text of a kit.

    A kit's name may name what it finds (``NO3 strip``) without saying how it counts; so a
    formula counts only behind *as*, *reads*, *gives* or *in*, or when it ends in ``-N``.

    Parameters
    ----------
    text
        Free words.

    Returns
    -------
    str
        Basis; empty when none or more than one is named.

    Examples
    --------
    >>> basis_within("drops, reads as NO3-N")
    'N'
    >>> basis_within("NO3 strip")
    ''
    """
    found = _SAID.findall(text.translate(_SUBSCRIPTS))
    named = {basis_of(behind or alone) for behind, alone in found}
    return named.pop() if len(named) == 1 else ""


def split_basis(unit: str) -> tuple[str, str]:
    """Split a unit as typed into the unit and its basis.

    Parameters
    ----------
    unit
        Unit as typed.

    Returns
    -------
    tuple
        Unit without basis, and basis in the spelling of the table of subjects or empty.

    Examples
    --------
    >>> split_basis("ppm as N"), split_basis("mg/L NO2"), split_basis("mg N/L"), split_basis("gal")
    (('ppm', 'N'), ('mg/L', 'NO2'), ('mg/L', 'N'), ('gal', ''))
    """
    text = _BOTH_FORMS.sub("", " ".join(unit.translate(_SUBSCRIPTS).split()))
    within = _WITHIN.match(text)
    if within:
        return within["unit"] + within["per"].replace(" ", ""), basis_of(within["basis"])
    after = _AFTER.match(text)
    if not after or _glued(text, after.start("basis")):
        return text, ""
    return after["unit"].strip(" (,-_"), basis_of(after["basis"])


def _glued(text: str, start: int) -> bool:
    """Whether the basis is only the end of a longer word, as the n of gallon."""
    return start > 0 and text[start - 1].isalnum()
