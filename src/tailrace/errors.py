"""What can go wrong, as one family; each member is also the matching builtin.

::

    TailraceError
    +-- OutsideRangeError   (ValueError)   an equation was used outside its range
    +-- InputError          (ValueError)   something a person gave cannot be used
    |   +-- UnitError                      a unit is unknown, missing or of the wrong kind
    |   +-- FileFaultsError                a file has faults; all of them, each with its line
    +-- NotKnownError       (LookupError)  a name that is not in the record or a table
    +-- RecordError         (OSError)      the record cannot be opened, read or written
    |   +-- KeyUsedError                   the name of an act came before with something else

    OutsideRangeWarning     (UserWarning)  an equation was extrapolated on request
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class TailraceError(Exception):
    """Base of every error raised on purpose; its text is one that a person can act on."""


class OutsideRangeError(TailraceError, ValueError):
    """An argument lies outside the range in which an equation holds."""


class InputError(TailraceError, ValueError):
    """Something that a person gave cannot be used as it is."""


class UnitError(InputError):
    """A unit is unknown, missing, or measures something else."""


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One fault of a file.

    Parameters
    ----------
    line
        Line of the file, counted from 1; 0 when the fault is of the whole file.
    text
        What is wrong, what is allowed and what to do.
    """

    line: int
    text: str

    def __str__(self) -> str:
        return f"line {self.line}: {self.text}" if self.line else self.text


class FileFaultsError(InputError):
    """A file has faults; they are collected and raised once."""

    def __init__(self, file: str, faults: Iterable[Fault]) -> None:
        self.file = file
        self.faults = tuple(sorted(faults))
        count = len(self.faults)
        head = f"{file} has {count} fault{'s' if count != 1 else ''}:"
        super().__init__("\n".join([head, *(f"  {fault}" for fault in self.faults)]))


class NotKnownError(TailraceError, LookupError):
    """A site, entry or other name is not known."""


class RecordError(TailraceError, OSError):
    """The record cannot be opened, read or written."""


class KeyUsedError(RecordError):
    """An act came under a name that stands for another act already; nothing was stored."""


class OutsideRangeWarning(UserWarning):
    """An equation was used outside its range because the caller asked for it."""
