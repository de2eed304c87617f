"""What came of a file in short: counts, the first rows, and each kind of doubt once.

Its size does not grow with the file.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from tailrace.intake import flags as f
from tailrace.intake.result import Aside, Taken
from tailrace.observations import Entry

FIRST_ROWS = 5
MOST_ASIDES = 200
MOST_KINDS = 100
MOST_ROWS = 20


@dataclass(slots=True)
class Kind:
    """One kind of doubt.

    Parameters
    ----------
    sentence
        What it said of the first row.
    rows
        The first rows that it touches.
    count
        How many it touches.
    """

    sentence: str
    rows: list[int] = field(default_factory=list)
    count: int = 0


@dataclass(slots=True)
class Tally:
    """What came of a file, counted row by row.

    Parameters
    ----------
    taken, aside
        Number of entries, and of rows kept aside.
    first
        The first entries.
    asides
        The first rows kept aside.
    kinds
        Kinds of doubt by subject and flag.
    more_kinds
        Doubts of kinds beyond those kept.
    """

    taken: int = 0
    aside: int = 0
    first: list[Entry] = field(default_factory=list)
    asides: list[Aside] = field(default_factory=list)
    kinds: dict[tuple[str, str], Kind] = field(default_factory=dict)
    more_kinds: int = 0

    def add(self, item: Taken | Aside) -> None:
        """Count what came of a row.

        Parameters
        ----------
        item
            An entry, or a row kept aside.
        """
        if isinstance(item, Aside):
            self.aside += 1
            if len(self.asides) < MOST_ASIDES:
                self.asides.append(item)
            return
        self.taken += 1
        if len(self.first) < FIRST_ROWS:
            self.first.append(item.entry)
        for place, flag in enumerate(item.entry.flags):
            sentence = item.doubts[place] if place < len(item.doubts) else flag
            self._doubt(item.entry, flag, sentence)

    def _doubt(self, entry: Entry, flag: str, sentence: str) -> None:
        name = f.SAME if flag.startswith(f.SAME) else flag
        kind = self.kinds.get((entry.subject, name))
        if kind is None:
            if len(self.kinds) >= MOST_KINDS:
                self.more_kinds += 1
                return
            kind = self.kinds[entry.subject, name] = Kind(sentence)
        kind.count += 1
        if len(kind.rows) < MOST_ROWS:
            kind.rows.append(entry.row)


def counted(items: Iterable[Taken | Aside], tally: Tally) -> Iterator[Taken | Aside]:
    """Pass on what came of each row, and count it.

    Parameters
    ----------
    items
        What came of each row.
    tally
        What counts it.

    Yields
    ------
    Taken or Aside
        The same.
    """
    for item in items:
        tally.add(item)
        yield item
