"""How long the best change takes to find: `python benchmarks/bench_whatif.py [runs]`.

Wanted: under 2 s for every single change of a 100-joint record. The search is run on the Tarn 11 and on made records of
100 joints, for the index and for the part with the most steps; reading the record and the imports are not counted. Wall
and processor time, best of a few runs (the limit is held against the second, as other work on the machine lengthens the
first); the numbers say how many changes the catalogue holds and how many routes were
searched.
"""

from __future__ import annotations

import sys
import time
from datetime import date
from pathlib import Path

from realistic import realistic_record
from unfasten.record.record import Record
from unfasten.service.best import best_changes, priority_parts
from unfasten.service.load import load_record
from unfasten.service.routes import reach_of

LIMIT_S = 2.0
DAY = date(2026, 6, 1)
SEEDS = (1, 2, 3, 4)
EXAMPLE = Path(__file__).parents[1] / "examples" / "tarn-11.yaml"


def deepest(record: Record) -> str:
    """The priority part with the most steps."""
    reaches = reach_of(record)
    return max(priority_parts(record), key=lambda name: (reaches[name].steps_high or 0, name))


def measure(record: Record, target: str, runs: int) -> tuple[float, float, int]:
    """Best wall and processor time [s], and the number of changes tried."""
    wall, busy, tried = [], [], 0
    for _ in range(runs):
        start, used = time.perf_counter(), time.process_time()
        tried = best_changes(record, DAY, target).tried
        wall.append(time.perf_counter() - start)
        busy.append(time.process_time() - used)
    return min(wall), min(busy), tried


def main() -> None:
    """Print one line per record and target."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    records = {"tarn-11": load_record(EXAMPLE)} | {f"made, seed {seed}": realistic_record(100, seed) for seed in SEEDS}
    worst = 0.0
    print("| record | joints | for | changes | wall [s] | processor [s] |")
    print("| --- | ---: | --- | ---: | ---: | ---: |")
    for name, record in records.items():
        for target in ("index", deepest(record)):
            wall, busy, tried = measure(record, target, runs)
            worst = max(worst, busy)
            print(f"| {name} | {len(record.joints)} | {target} | {tried} | {wall:.2f} | {busy:.2f} |")
    print(f"\nlongest {worst:.2f} s of processor time; limit {LIMIT_S} s: {'kept' if worst < LIMIT_S else 'NOT kept'}")


if __name__ == "__main__":
    main()
