"""How long a record of 100 kB takes to read, with validation and warnings: `python benchmarks/bench_read.py`.

Wanted: under 0.2 s for reading and validation on the machine at hand. The record is made here, so that the figure does
not move with the examples. Best and median of several runs, in wall-clock and in processor time.
"""

from __future__ import annotations

import json
import statistics
import time
from collections.abc import Callable

from unfasten.record.check import check_record
from unfasten.record.read import read_record
from unfasten.record.write import to_yaml

LIMIT_S = 0.2
RUNS = 9
SIZE = 100_000
HEAD = """\
format: unfasten-record/1
product: {id: tarn-11, name: Tarn 11, maker: Fellwright, category: slate-tablet}
tools: {hex-3: {name: Hexalobular driver 3, class: basic}, pad: {name: Heating pad, class: commercial}}
"""


def made(size: int) -> str:
    """A record of about `size` bytes: parts, joints with every key, and a log, in the proportions of a real one."""
    parts, joints, log = ["parts:", "  frame: {name: Midframe, stays: true}"], ["joints:"], ["log:"]
    count = 0
    while sum(map(len, parts)) + sum(map(len, joints)) + sum(map(len, log)) < size - len(HEAD) - 1000:
        part, below = f"part-{count}", f"part-{max(count - 1, 0)}"
        parts += [f"  {part}:", f"    name: Part {count}", "    mass: 3.2 ± 0.1 g"]
        parts += ["    lift: {tools: [], side: back, time: 3 s, behind: [], survey: full}"]
        joints += [f"  joint-{count}:", "    kind: screw", f"    holds: [{part}, frame]", "    count: 4"]
        joints += ["    reuse: reusable", "    ways:", "      - tools: [hex-3]", "        side: back"]
        joints += ["        prepare: [{do: heat, tools: [pad], time: 120 s}]", "        time: 7 s each"]
        joints += [f"        under: [{below}, [{below}, frame]]", "        survey: partial"]
        log += [f'  - {{at: "0:{count // 60:02d}:{count % 60:02d}", do: release, joint: joint-{count}, took: 46 s}}']
        count += 1
    return HEAD + "\n".join([*parts, *joints, *log]) + "\n"


def measure(work: Callable[[], object]) -> tuple[float, float, float]:
    """Best and median wall-clock time and best processor time [s]."""
    wall, busy = [], []
    for _ in range(RUNS):
        start, used = time.perf_counter(), time.process_time()
        work()
        wall.append(time.perf_counter() - start)
        busy.append(time.process_time() - used)
    return min(wall), statistics.median(wall), min(busy)


def main() -> None:
    """Print one line per measured step."""
    text = made(SIZE)
    data = text.encode()
    record = read_record(data, "made.yaml").record
    if record is None:
        raise SystemExit("the made record does not read")
    as_json = json.dumps(record.model_dump(mode="json", by_alias=True, exclude_defaults=True)).encode()
    steps: list[tuple[str, Callable[[], object]]] = [
        (f"read and validate, YAML, {len(data)} bytes", lambda: read_record(data, "made.yaml")),
        (f"read and validate, JSON, {len(as_json)} bytes", lambda: read_record(as_json, "made.json")),
        ("warnings", lambda: check_record(record)),
        ("write as YAML", lambda: to_yaml(record)),
    ]
    for name, work in steps:
        best, median, busy = measure(work)
        print(f"{name:<44} best {best:.3f} s   median {median:.3f} s   processor {busy:.3f} s")
    best = measure(steps[0][1])[0]
    print(f"limit {LIMIT_S} s: {'kept' if best < LIMIT_S else 'NOT kept'}")


if __name__ == "__main__":
    main()
