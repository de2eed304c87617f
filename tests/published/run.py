"""Hold a file of published values against the code: ``python -m tests.published.run FILE``."""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from tests.published.compare import agrees
from tests.published.registry import Outcome, find, run
from tests.published.rows import Row, read, topic_order


@dataclass(slots=True)
class Tally:
    """What became of the rows of a file."""

    by_topic: dict[str, Counter[str]] = field(default_factory=dict)
    failing: list[tuple[Row, Outcome]] = field(default_factory=list)
    unmapped: list[Row] = field(default_factory=list)

    def count(self, word: str) -> int:
        """Rows over all topics that passed, failed or are unmapped."""
        return sum(counter[word] for counter in self.by_topic.values())


def tally(rows: list[Row]) -> Tally:
    """Run every row that is mapped."""
    result = Tally()
    for row in rows:
        counter = result.by_topic.setdefault(row.topic, Counter())
        mapped = find(row)
        if mapped is None:
            result.unmapped.append(row)
            counter["unmapped"] += 1
            continue
        outcome = run(row, mapped)
        good = agrees(row, outcome.got)
        counter["passed" if good else "failed"] += 1
        if not good:
            result.failing.append((row, outcome))
    return result


def _lines(result: Tally) -> list[str]:
    lines = [f"{'topic':44}{'passed':>8}{'failed':>8}{'unmapped':>10}"]
    for topic, counter in sorted(result.by_topic.items(), key=lambda item: topic_order(item[0])):
        counts = (counter[word] for word in ("passed", "failed", "unmapped"))
        lines.append(f"{topic:44}{next(counts):>8}{next(counts):>8}{next(counts):>10}")
    for row, outcome in result.failing:
        lines.append(f"{row}\n    got {outcome.got} {row.unit}, {row.expected} published")
    return lines


def main(arguments: list[str] | None = None) -> int:
    """Print the tally; 1 when a row failed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--json", action="store_true", help="end with one line of JSON")
    options = parser.parse_args(arguments)
    result = tally(read(options.file))
    out = _lines(result)
    if options.json:
        out.append(
            json.dumps(
                {
                    **{word: result.count(word) for word in ("passed", "failed", "unmapped")},
                    "failing_ids": [row.id for row, _ in result.failing],
                }
            )
        )
    sys.stdout.write("\n".join(out) + "\n")
    return 1 if result.failing else 0


if __name__ == "__main__":
    sys.exit(main())
