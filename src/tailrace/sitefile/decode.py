"""Bytes of a site file to text: byte-order mark, line ends, and the line of a wrong encoding.

Open `tailrace.sitefile.statements` next.
"""

from __future__ import annotations

from tailrace.errors import Fault

_OTHER_MARKS = ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))


def decoded(content: str | bytes) -> tuple[str, tuple[Fault, ...]]:
    r"""Return the text of a site file, and a fault when it is not UTF-8.

    Parameters
    ----------
    content
        The file as it was read.

    Returns
    -------
    tuple
        Text with ``\n`` as line end and without byte-order mark, and the faults: none or
        one. With a fault the text is a best guess, so that the other faults can be told too.

    Examples
    --------
    >>> decoded(b"\xef\xbb\xbf[site]\r\n")
    ('[site]\n', ())
    >>> [fault.line for fault in decoded(b"[site]\ntitle = 'Caf\xe9'")[1]]
    [2]
    """
    if isinstance(content, str):
        return _plain_line_ends(content), ()
    for mark, encoding in _OTHER_MARKS:
        if content.startswith(mark):
            text = content.decode(encoding, errors="replace")
            return _plain_line_ends(text), (Fault(1, _not_utf8("the file is UTF-16")),)
    try:
        return _plain_line_ends(content.decode("utf-8")), ()
    except UnicodeDecodeError as error:
        line = _plain_line_ends(content[: error.start].decode("utf-8")).count("\n") + 1
        what = f"byte 0x{content[error.start]:02x} is not UTF-8"
        text = content.decode("latin-1")
        return _plain_line_ends(text), (Fault(line, _not_utf8(what)),)


def _plain_line_ends(text: str) -> str:
    return text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")


def _not_utf8(what: str) -> str:
    return f"{what}; save the file as UTF-8 and check the letters with accents and the signs"
