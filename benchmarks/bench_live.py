"""Live answers on the bench: time from a line to its answers, for a record of 150 joints recorded from an empty sheet.

    .venv/bin/python benchmarks/bench_live.py [joints] [seeds] [seeds in the page]

Each line is kept in an SQLite ledger (flushed to disk), then the answers and the questions are computed, as the server
does. The lines are those by which a made record's log would be typed. Then the same in a page, in headless Chromium,
from the key to the painted answers (`live_page`). Prints two tables for docs/bench.md.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from datetime import UTC, date, datetime
from pathlib import Path
from uuid import uuid4

from live_page import MOMENTS, measured
from realistic import realistic_record

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))

from support.typist import Typist
from unfasten.service.bench.begin import begin_record
from unfasten.service.bench.bench import Bench
from unfasten.service.bench.lines import Sent
from unfasten.service.workspace import open_workspace

DAY = date(2026, 6, 1)
NEW = {
    "id": "made",
    "name": "Made",
    "maker": "Fellwright",
    "category": "slate-tablet",
    "frame": "frame",
    "survey": "full",
}


def play(joints: int, seed: int, times: dict[str, list[float]]) -> int:
    """Record one made log live; adds the times [s] of each step."""
    record = realistic_record(joints, seed)
    source = record.model_dump(mode="json", by_alias=True, exclude_unset=True)
    now = datetime.now(UTC)
    typist = Typist(source)
    with tempfile.TemporaryDirectory() as folder, open_workspace(Path(folder), now) as workspace:
        begin_record(workspace.store, {**NEW, "frame": typist.frame}, at=now, by=None)
        bench = Bench(workspace.store, "made", DAY)
        count = 0
        for line, at in typist.lines():
            typist.take(line, at)
            start = time.perf_counter()
            taken = bench.take(Sent(uuid4(), line, now, at, bench.seq), "bench")
            kept = time.perf_counter()
            answers = bench.answers()
            told = time.perf_counter()
            bench.with_questions(answers, search=False)
            asked = time.perf_counter()
            bench.with_questions(answers)
            exact = time.perf_counter()
            assert taken.ok, (line, taken.words)
            times["kept on disk"].append(kept - start)
            times["answers (with the line)"].append(told - start)
            times["questions (with all before)"].append(asked - start)
            times["questions in exact order"].append(exact - start)
            count += 1
    return count


def summary(seen: list[float]) -> str:
    """Median, 95th percentile and longest of times [ms], as cells of a table."""
    ordered = sorted(seen)
    return f"{statistics.median(ordered):.1f} | {ordered[int(0.95 * len(ordered))]:.1f} | {ordered[-1]:.1f}"


def main() -> None:
    """Print the tables."""
    given = [int(word) for word in sys.argv[1:]]
    joints, seeds, pages = given + [150, 3, 2][len(given) :]
    times: dict[str, list[float]] = {
        "kept on disk": [],
        "answers (with the line)": [],
        "questions (with all before)": [],
        "questions in exact order": [],
    }
    lines = sum(play(joints, seed, times) for seed in range(seeds))
    head = "median [ms] | 95th percentile [ms] | longest [ms] |\n| --- | ---: | ---: | ---: |"
    if lines:
        print(f"{joints} joints, {seeds} made records, {lines} lines\n\n| from the line to | {head}")
    for name, seen in times.items() if lines else ():
        print(f"| {name} | {summary([1e3 * one for one in seen])} |")
    for stage, rows in measured(joints, pages).items() if pages else ():
        print(f"\n{stage}: {len(rows)} entries\n\n| from the Enter key until there is painted | {head}")
        for moment, words in MOMENTS.items():
            seen = [row[moment] for row in rows if moment in row]
            if len(seen) > len(rows) / 2:
                print(f"| {words} | {summary(seen)} |")


if __name__ == "__main__":
    main()
