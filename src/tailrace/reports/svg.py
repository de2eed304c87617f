"""Well-formed SVG text, with a title and a description for who cannot see it."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree as ET

NAMESPACE = "http://www.w3.org/2000/svg"
Value = str | float


def number(value: float) -> str:
    """Write a coordinate, to a tenth of a pixel.

    Parameters
    ----------
    value
        Coordinate.

    Returns
    -------
    str
        The shortest text.

    Examples
    --------
    >>> number(12.0), number(3.14159)
    ('12', '3.1')
    """
    return f"{value:.1f}".removesuffix(".0")


class Drawing:
    """A drawing of one size; colours come from the style sheet by class.

    Parameters
    ----------
    key
        Name of the drawing, unique on its page.
    width, height
        Size in pixels.
    title, desc
        What it is, and what it shows, in words.
    """

    def __init__(self, key: str, width: float, height: float, *, title: str, desc: str) -> None:
        self.width, self.height = width, height
        self._root = ET.Element(
            "svg",
            {
                "xmlns": NAMESPACE,
                "viewBox": f"0 0 {number(width)} {number(height)}",
                "class": "drawing",
                "role": "img",
                "aria-labelledby": f"{key}-title {key}-desc",
            },
        )
        for tag, text in (("title", title), ("desc", desc)):
            ET.SubElement(self._root, tag, {"id": f"{key}-{tag}"}).text = text

    def move_into(self, parent: ET.Element, child: ET.Element) -> None:
        """Move an element that was added into another one, such as a pattern.

        Parameters
        ----------
        parent, child
            Elements of this drawing.
        """
        self._root.remove(child)
        parent.append(child)

    def add(self, tag: str, name: str, **attributes: Value) -> ET.Element:
        """Add an element.

        Parameters
        ----------
        tag
            Its SVG name.
        name
            Its class.
        **attributes
            Its attributes; ``_`` stands for ``-``.

        Returns
        -------
        xml.etree.ElementTree.Element
            The element.
        """
        written = {
            key.replace("_", "-"): value if isinstance(value, str) else number(value)
            for key, value in attributes.items()
        }
        return ET.SubElement(self._root, tag, {"class": name, **written})

    def text(self, name: str, x: float, y: float, words: str, *, anchor: str = "start") -> None:
        """Add a line of text.

        Parameters
        ----------
        name
            Its class.
        x, y
            Where its base line begins, ends or has its middle.
        words
            The text.
        anchor
            ``start``, ``middle`` or ``end``.
        """
        self.add("text", name, x=x, y=y, text_anchor=anchor).text = words

    def line(
        self, name: str, points: Sequence[tuple[float, float]], *, closed: bool = False
    ) -> None:
        """Add a line through points.

        Parameters
        ----------
        name
            Its class.
        points
            Pairs of x and y.
        closed
            Whether it goes back to the first one.
        """
        way = "L".join(f"{number(x)} {number(y)}" for x, y in points)
        self.add("path", name, d=f"M{way}{'Z' if closed else ''}")

    def svg(self) -> str:
        """Return the drawing as text."""
        return ET.tostring(self._root, encoding="unicode")
