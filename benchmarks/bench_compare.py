"""How long comparing takes: `python benchmarks/bench_compare.py [runs]`.

Wanted: eight records of 120 joints compared in under 2 s, with routes and scores; a pattern of 40 holes matched in
under 50 ms. The records are one made record and seven siblings of it, in which masses, counts and some joints differ; a
second line takes eight made records that share nothing but ids. The patterns are 40 holes at random, and a grid of 8 by
5, laid on a turned copy with noise, one hole out of place and the order shuffled. Imports and the making are not
counted. Wall and processor time, best of a few runs; the share says what of the processor time the records themselves
take, without routes and scores. The limits are held against the processor time, which other work on the machine leaves
alone.
"""

from __future__ import annotations

import copy
import random
import sys
import time
from collections.abc import Callable
from datetime import date
from math import cos, radians, sin

from realistic import realistic_record, realistic_tree
from unfasten.compare.comparison import compare_records
from unfasten.compare.holes import fit_holes
from unfasten.record.part import Hole
from unfasten.record.record import Record
from unfasten.service.compare import compare

LIMIT_S = 2.0
LIMIT_HOLES_S = 0.05
DAY = date(2026, 6, 1)


def siblings(count: int, joints: int, seed: int) -> list[Record]:
    """A made record and siblings of it."""
    base = realistic_tree(joints, seed)
    return [sibling(base, number) for number in range(count)]


def sibling(base: dict[str, object], seed: int) -> Record:
    """A copy with another id in which masses, counts and kinds of some joints differ."""
    rng = random.Random(seed)
    tree = copy.deepcopy(base)
    tree["product"] |= {"id": f"sibling-{seed}", "name": f"Sibling {seed}"}  # type: ignore[operator]
    for part in tree["parts"].values():  # type: ignore[attr-defined]
        part["mass"] = f"{rng.uniform(1, 9):.2f} ± 0.05 g"
    for joint in tree["joints"].values():  # type: ignore[attr-defined]
        if rng.random() < 0.2:
            joint["count"] = rng.randint(1, 8)
        if rng.random() < 0.05:
            joint["kind"] = "adhesive"
    return Record.model_validate(tree)


def pattern(places: list[tuple[float, float]]) -> list[Hole]:
    """Holes at these places [mm]."""
    return [
        Hole.model_validate({"at": [f"{x:.3f} ± 0.03 mm", f"{y:.3f} ± 0.03 mm"], "diameter": "1.6 mm"})
        for x, y in places
    ]


def laid(places: list[tuple[float, float]], seed: int) -> list[tuple[float, float]]:
    """A turned and shifted copy with noise, one hole out of place by 0.6 mm, in another order."""
    rng, turn = random.Random(seed), radians(37)
    out = [
        (
            200 + x * cos(turn) - y * sin(turn) + rng.gauss(0, 0.03),
            100 + x * sin(turn) + y * cos(turn) + rng.gauss(0, 0.03),
        )
        for x, y in places
    ]
    out[7] = (out[7][0] + 0.6, out[7][1])
    rng.shuffle(out)
    return out


def best(work: Callable[[], object], runs: int) -> tuple[float, float]:
    """Least wall and processor time of a few runs [s]."""
    wall, busy = [], []
    for _ in range(runs):
        start, used = time.perf_counter(), time.process_time()
        work()
        wall.append(time.perf_counter() - start)
        busy.append(time.process_time() - used)
    return min(wall), min(busy)


def main() -> None:
    """Print the tables."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    families = {
        "eight siblings": siblings(8, 120, 1),
        "eight strangers": [realistic_record(120, seed) for seed in range(1, 9)],
    }
    slowest = 0.0
    print("| records | joints | differences | wall [s] | processor [s] | records alone [share] | routes not proven |")
    print("| --- | ---: | ---: | ---: | ---: | ---: | ---: |")
    for name, records in families.items():
        found = compare(records, DAY)
        wall, busy = best(lambda records=records: compare(records, DAY), runs)  # type: ignore[misc]
        _, alone = best(lambda records=records: compare_records(records), runs)  # type: ignore[misc]
        slowest = max(slowest, busy)
        count = sum(len(step.differences) for step in found.steps)
        joints = round(sum(len(record.joints) for record in records) / len(records))
        share = alone / busy
        print(f"| {name} | {joints} | {count} | {wall:.2f} | {busy:.2f} | {share:.2f} | {len(found.unproven)} |")
    print(f"\nlongest {slowest:.2f} s; limit {LIMIT_S} s: {'kept' if slowest < LIMIT_S else 'NOT kept'}\n")
    rng = random.Random(1)
    patterns = {
        "random": [(rng.uniform(0, 100), rng.uniform(0, 60)) for _ in range(40)],
        "grid": [(10.0 + 10 * i, 10.0 + 8 * j) for i in range(8) for j in range(5)],
    }
    slowest = 0.0
    print("| 40 holes | wall [ms] | processor [ms] | out of place | poses |")
    print("| --- | ---: | ---: | --- | ---: |")
    for name, places in patterns.items():
        first, second = pattern(places), pattern(laid(places, 2))
        fit = fit_holes(first, second)
        wall, busy = best(lambda a=first, b=second: fit_holes(a, b), max(runs, 5))  # type: ignore[misc]
        slowest = max(slowest, busy)
        odd = ", ".join(f"hole {one.first + 1} by {one.distance:.2f} mm" for one in fit.odd) if fit else ""
        print(f"| {name} | {1000 * wall:.1f} | {1000 * busy:.1f} | {odd} | {fit.poses if fit else 0} |")
    kept = "kept" if slowest < LIMIT_HOLES_S else "NOT kept"
    print(f"\nlongest {1000 * slowest:.1f} ms; limit {1000 * LIMIT_HOLES_S:.0f} ms: {kept}")


if __name__ == "__main__":
    main()
