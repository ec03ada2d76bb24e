"""Live answers on the bench: time from a line to its answers, for a record of 150 joints recorded from an empty sheet.

    .venv/bin/python benchmarks/bench_live.py [joints] [seeds]

Each line is kept in an SQLite ledger (flushed to disk), then the answers and the questions are computed, as the server
does. The lines are those by which a made record's log would be typed. Prints a table for docs/bench.md.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from datetime import UTC, date, datetime
from pathlib import Path
from uuid import uuid4

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


def main() -> None:
    """Print the table."""
    joints, seeds = (int(sys.argv[1]) if len(sys.argv) > 1 else 150), (int(sys.argv[2]) if len(sys.argv) > 2 else 3)
    times: dict[str, list[float]] = {
        "kept on disk": [],
        "answers (with the line)": [],
        "questions (with all before)": [],
        "questions in exact order": [],
    }
    lines = sum(play(joints, seed, times) for seed in range(seeds))
    print(f"{joints} joints, {seeds} made records, {lines} lines\n")
    print("| from the line to | median [ms] | 95th percentile [ms] | longest [ms] |\n| --- | ---: | ---: | ---: |")
    for name, seen in times.items():
        ordered = sorted(seen)
        p95 = ordered[int(0.95 * len(ordered))]
        print(f"| {name} | {statistics.median(ordered) * 1e3:.1f} | {p95 * 1e3:.1f} | {ordered[-1] * 1e3:.1f} |")


if __name__ == "__main__":
    main()
