"""Check a record after a fault: reads only the acknowledgements and the record.

``python -m tests.soak_check`` takes lines of JSON, ``{"record": ADDRESS, "acks": [FILE, ...]}``,
and answers each with one: how many acts were acknowledged, found, lost and doubled, and what the
record itself says is wrong. Every act of a soak leaves one entry whose note is its name, or with
``"what": "samples"`` one sample whose series and moment are.
"""

from __future__ import annotations

import json
import sqlite3
import sys
from collections import Counter
from contextlib import closing
from pathlib import Path
from typing import Any

import psycopg

from tailrace.errors import TailraceError
from tailrace.records.engine import FILE
from tailrace.records.store import Store
from tailrace.records.verify import verify_record

_QUERIES = {
    "entries": "SELECT note FROM entries",
    "samples": "SELECT s.name || ' ' || m.at FROM samples m JOIN series s ON s.number = m.series",
}


def check(record: str, acks: list[str], what: str = "entries") -> dict[str, Any]:
    """Compare a record with what was acknowledged."""
    wanted = Counter(line for file in acks for line in _lines(Path(file)))
    said: list[str] = []
    try:
        Store.open(record, create=False).close()  # as the next command would: recovers the log
        said += verify_record(record).faults
    except TailraceError as error:
        said.append(str(error))
    try:
        found = Counter(_names(record, _QUERIES[what]))
    except (sqlite3.Error, psycopg.Error) as error:
        found = Counter()
        said.append(str(error))
    return {
        "acknowledged": len(wanted),
        "found": len(found),
        "lost": len(set(wanted) - set(found)),
        "doubled": sum(count > 1 for count in found.values()),
        "said": said,
    }


def _lines(file: Path) -> list[str]:
    text = file.read_text(encoding="utf-8") if file.exists() else ""
    return [line for line in text.split("\n")[:-1] if line]  # a last line without its end is none


def _names(record: str, query: str) -> list[str]:
    if "://" in record:
        with psycopg.connect(record) as connection:
            return [row[0] for row in connection.execute(query.encode())]
    with closing(sqlite3.connect(Path(record) / FILE)) as raw:
        return [row[0] for row in raw.execute(query)]


def main() -> None:
    """Answer every line."""
    for line in sys.stdin:
        asked = json.loads(line)
        sys.stdout.write(json.dumps(check(**asked)) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
