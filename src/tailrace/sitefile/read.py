"""A site file read: the site, what was understood, what was assumed, what looks wrong.

The way: `decode` -> `statements` -> `tables` -> `check` and `rules` -> `build`.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import Final

from tailrace.errors import Fault, FileFaultsError
from tailrace.husbandry.limits import species
from tailrace.site.records import Site
from tailrace.sitefile.answers import Notes, Said
from tailrace.sitefile.build import build
from tailrace.sitefile.check import check
from tailrace.sitefile.decode import decoded
from tailrace.sitefile.rules import apply_rules
from tailrace.sitefile.statements import statements
from tailrace.sitefile.tables import put_together

_MOST_LINES: Final = 2000
_LONGEST_LINE: Final = 1000


@dataclass(frozen=True, slots=True)
class SiteReading:
    """A sound site file as it was read.

    Parameters
    ----------
    site
        The site.
    understood
        Each key that was given, in words.
    assumed
        Each default that was taken, in words with its value and unit.
    implausible
        What can be but is unusual, with what to check.
    """

    site: Site
    understood: tuple[Said, ...]
    assumed: tuple[Said, ...]
    implausible: tuple[Said, ...]


def read_site(text: str | bytes, name_of_file: str) -> SiteReading:
    r"""Read a site file.

    Parameters
    ----------
    text
        The file as it was read, best as bytes.
    name_of_file
        Its name, for the error.

    Returns
    -------
    SiteReading
        The site and what is to be told about it.

    Raises
    ------
    FileFaultsError
        The file has faults; it holds all of them, each with its line.

    Examples
    --------
    >>> from tailrace.errors import FileFaultsError
    >>> try:
    ...     read_site('[sump]\nvolume = 40 gal', "yard.toml")
    ... except FileFaultsError as error:
    ...     print(error.faults[-1])
    line 2: volume needs quotes around its value: volume = "40 gal"
    """
    plain, wrong_encoding = decoded(text)
    notes = Notes(faults=list(wrong_encoding))
    if strange := _wrong_kind(plain):
        raise FileFaultsError(name_of_file, [*notes.faults, *strange])
    found, syntax = statements(plain)
    notes.faults += syntax
    root = put_together(found, notes.faults)
    sheet = check(root, tuple(species()), notes)
    apply_rules(sheet, notes)
    if not notes.faults:
        notes.faults += _last_word(plain)
    if notes.faults:
        raise FileFaultsError(name_of_file, notes.faults)
    site = build(sheet, notes)
    told = (notes.understood, notes.assumed, notes.implausible)
    return SiteReading(site, *(tuple(sorted(said)) for said in told))


def _wrong_kind(plain: str) -> list[Fault]:
    """Return a fault when the text can be no site file, so that no time is spent on it."""
    lines = plain.split("\n")
    if len(lines) > _MOST_LINES:
        text = f"the file has more than {_MOST_LINES} lines; a site file is one page. Is it one?"
        return [Fault(_MOST_LINES + 1, text)]
    for number, line in enumerate(lines, 1):
        if len(line) > _LONGEST_LINE:
            text = f"the line has more than {_LONGEST_LINE} signs. Is this a site file?"
            return [Fault(number, text)]
    return []


def _last_word(plain: str) -> list[Fault]:
    """Return what the standard parser refuses although nothing else did."""
    try:
        tomllib.loads(plain)
    except tomllib.TOMLDecodeError as error:
        place = re.search(r"\(at line (\d+)", str(error))
        line = int(place[1]) if place else plain.count("\n") + 1
        return [Fault(line, f"this is not TOML: {str(error).partition(' (at ')[0]}")]
    return []
