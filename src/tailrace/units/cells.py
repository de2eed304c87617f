"""Text made harmless for a spreadsheet, and back again exactly.

A spreadsheet takes a cell that begins with ``=``, ``+``, ``-``, ``@`` or a tab for something
to work out, and a note such as ``=cmd`` could then act on the reader's machine.
"""

from __future__ import annotations

import re

_MARK = "'"
_ACTS = "=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20"  # the last four: the wide forms of the same signs
_WOULD_ACT = re.compile(rf"'*[ \u00a0]*[{_ACTS}]")
_MARKED = re.compile(rf"'+[ \u00a0]*[{_ACTS}]")
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d+)*|[.,]\d+)(?:[eE][+-]?\d+)?", re.ASCII)


def harmless(text: str) -> str:
    r"""Return a text that no spreadsheet takes for something to work out.

    Parameters
    ----------
    text
        Any text.

    Returns
    -------
    str
        The text; behind an apostrophe where it begins with ``=``, ``+``, ``-``, ``@``, a tab
        or a new line and is no plain number.

    Examples
    --------
    >>> harmless("=1+1"), harmless("-0.5"), harmless("- new pump"), harmless("7.0")
    ("'=1+1", '-0.5', "'- new pump", '7.0')
    """
    acts = _WOULD_ACT.match(text) and not _NUMBER.fullmatch(text)
    return f"{_MARK}{text}" if acts else text


def as_written(text: str) -> str:
    """Undo `harmless`, and nothing else.

    Parameters
    ----------
    text
        A cell of a file.

    Returns
    -------
    str
        The text as it was before `harmless`.

    Examples
    --------
    >>> as_written("'=1+1"), as_written("'tis cloudy"), as_written("''=1")
    ('=1+1', "'tis cloudy", "'=1")
    """
    return text[1:] if _MARKED.match(text) else text
