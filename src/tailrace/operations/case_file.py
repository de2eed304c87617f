"""The cases of a site beside the record: lines of JSON that are only ever added to.

Line: ``{"case": "c3", "at": "2026-11-09T08:24:00+00:00", "act": "answer", "question":
"air_float", "level": "low"}``. A line that cannot be read is left in the file and told.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from tailrace.diagnosis.case import Event, from_object, to_object
from tailrace.errors import RecordError


@dataclass(frozen=True, slots=True)
class CaseFile:
    """The case file of one site.

    Parameters
    ----------
    path
        The file; it need not exist yet.
    """

    path: Path

    def read(self) -> tuple[dict[str, list[Event]], tuple[str, ...]]:
        """Return the events of each case in their order, and what could not be read.

        Returns
        -------
        tuple
            Events by case, and a sentence for each line that could not be read.

        Raises
        ------
        RecordError
            The file is there but cannot be read.
        """
        if not self.path.exists():
            return {}, ()
        try:
            lines = self.path.read_text(encoding="utf-8", errors="replace").splitlines()
        except OSError as error:
            raise RecordError(f"{self.path} cannot be read: {error.strerror}") from error
        cases: dict[str, list[Event]] = {}
        odd = []
        for number, line in enumerate(lines, start=1):
            event, case = _read(line)
            if event is None:
                odd.append(f"{self.path.name}, line {number} cannot be read and was left out.")
            else:
                cases.setdefault(case, []).append(event)
        return cases, tuple(odd)

    def add(self, case: str, events: Iterable[Event], *, at: datetime) -> None:
        """Add events and see them to the disk.

        Parameters
        ----------
        case
            Id of the case.
        events
            The events.
        at
            The moment.

        Raises
        ------
        RecordError
            The file cannot be written; nothing of the case so far is lost.
        """
        head = {"case": case, "at": at.isoformat()}
        text = "".join(
            json.dumps({**head, **to_object(event)}, ensure_ascii=False) + "\n" for event in events
        )
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            with self.path.open("a+b") as stream:
                stream.write(("" if _ends_whole(self.path) else "\n").encode() + text.encode())
                stream.flush()
                os.fsync(stream.fileno())
        except OSError as error:
            message = f"{self.path} cannot be written: {error.strerror}; answers so far are kept"
            raise RecordError(message) from error


def _read(line: str) -> tuple[Event | None, str]:
    try:
        given = json.loads(line)
    except ValueError:
        return None, ""
    case = given.get("case") if isinstance(given, dict) else None
    return (from_object(given), case) if isinstance(case, str) else (None, "")


def _ends_whole(path: Path) -> bool:
    """Return whether the file ends with a whole line; a cut in power may leave half a one."""
    if path.stat().st_size == 0:
        return True
    with path.open("rb") as stream:
        stream.seek(-1, os.SEEK_END)
        return stream.read(1) == b"\n"
