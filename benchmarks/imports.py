"""Read long files: rows a second and memory, for CSV and XLSX.

Run it with ``python -m benchmarks.imports [ROWS]``; each case runs in a process of its own, so
that its peak of memory is its own. The floor is Python's csv module over the same file, with
nothing understood.
"""

from __future__ import annotations

import csv
import multiprocessing
import resource
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import openpyxl

from tailrace.intake.logfile import open_log
from tailrace.intake.result import Aside
from tailrace.intake.sheet import Source
from tests.test_log_import import SITE

NOW = datetime(2026, 11, 20, tzinfo=UTC)
START = datetime(2016, 1, 1, tzinfo=UTC)
HEADER = ("when", "what", "value", "unit", "method", "place", "who", "note")
MOST_OF_A_SHEET = 1_048_575


def invented(rows: int) -> Iterator[tuple[str, ...]]:
    """Rows of an invented log: one each five minutes."""
    for number in range(rows):
        at = f"{START + timedelta(minutes=5 * number):%Y-%m-%d %H:%M}"
        kinds = (
            ("water temp", f"{24 + number % 17 / 10:.1f}", "degC", "meter"),
            ("ph", f"{7 + number % 5 / 10:.1f}", "", "meter"),
            ("oxygen", f"{6 + number % 13 / 10:.1f}", "mg/L", "probe"),
            ("air float", f"0.{14 + number % 3}", "SCFH", ""),
        )
        yield (at, *kinds[number % 4], "tank", "AB", "x" if number % 50_000 else "odd, row")


def write_csv(path: Path, rows: int) -> None:
    """Write the log as CSV."""
    with path.open("w", newline="", encoding="utf-8") as stream:
        out = csv.writer(stream)
        out.writerow(HEADER)
        out.writerows(invented(rows))


def write_xlsx(path: Path, rows: int) -> None:
    """Write the log as XLSX, numbers as numbers and moments as moments."""
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("log")
    sheet.append(HEADER)
    for at, what, value, *rest in invented(rows):
        sheet.append([datetime.fromisoformat(at), what, float(value), *rest])
    book.save(path)


def floor(path: Path) -> str:
    """Read a CSV with nothing understood."""
    with path.open(encoding="utf-8", newline="") as stream:
        return f"{sum(1 for _ in csv.reader(stream)):,} rows split"


def read(path: Path) -> str:
    """Read a file whole as a preview does: once to settle it, once to understand it."""
    log = open_log(Source.of(path, path.name), SITE, received_at=NOW)
    aside = sum(isinstance(item, Aside) for item in log.read())
    return f"{log.found.rows:,} rows, {aside} kept aside"


def measured(queue: multiprocessing.Queue[tuple[float, float, str]], act: str, path: Path) -> None:
    """Run one case and tell seconds of the processor, peak of memory in MB, and words."""
    started = time.process_time()
    said = {"floor": floor, "read": read}[act](path)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    queue.put((time.process_time() - started, peak, said))


def in_own_process(act: str, path: Path) -> tuple[float, float, str]:
    """Run one case in a process of its own."""
    context = multiprocessing.get_context("spawn")
    queue = context.Queue()
    process = context.Process(target=measured, args=(queue, act, path))
    process.start()
    found: tuple[float, float, str] = queue.get()
    process.join()
    return found


def main(rows: int) -> None:
    """Print every case."""
    with tempfile.TemporaryDirectory() as folder:
        for count in sorted({rows // 10, rows}):
            path = Path(folder) / f"{count}.csv"
            write_csv(path, count)
            base, base_mb, _ = in_own_process("floor", path)
            spent, peak, said = in_own_process("read", path)
            rate, ratio = count / spent, spent / base
            print(f"CSV   {said}: {spent:6.1f} s, {rate:8,.0f} rows/s, peak {peak:5.0f} MB")
            print(f"      csv alone {base:.2f} s, {base_mb:.0f} MB; ratio of times {ratio:.0f}")
            path.unlink()
        count = min(rows // 4, MOST_OF_A_SHEET)
        path = Path(folder) / "log.xlsx"
        write_xlsx(path, count)
        spent, peak, said = in_own_process("read", path)
        print(f"XLSX  {said}: {spent:6.1f} s, {count / spent:8,.0f} rows/s, peak {peak:5.0f} MB")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
