"""How long the command line takes, from the start of the process to its end, beside a bare interpreter.

`python benchmarks/bench_start.py` measures and writes the table into benchmarks/README.md; with `--check` it writes
nothing and exits with 1 where a limit is passed. Wall time, best of five, everything in one run.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent
README = ROOT / "benchmarks" / "README.md"
RUNS = 5
BEGIN, END = "<!-- table of bench_start.py -->", "<!-- end of table -->"
CALL = "from unfasten.cli.main import main; main()"

#: what is measured -> (arguments of the command, limit [s])
CASES = {
    "`unfasten --help`": (["--help"], 0.25),
    "`unfasten index examples/tarn-9.yaml`": (["index", "examples/tarn-9.yaml"], 1.0),
    "`unfasten index examples/tarn-11.yaml`": (["index", "examples/tarn-11.yaml"], 1.0),
    "`unfasten check examples/tarn-11.yaml`": (["check", "examples/tarn-11.yaml"], None),
    "`unfasten routes examples/tarn-11.yaml`": (["routes", "examples/tarn-11.yaml"], None),
    "`unfasten routes examples/tarn-11.yaml --to battery`": (
        ["routes", "examples/tarn-11.yaml", "--to", "battery"],
        None,
    ),
}


def best(arguments: list[str]) -> float:
    """Wall time of a process, best of several [s]."""
    times = []
    for _ in range(RUNS):
        began = time.perf_counter()
        subprocess.run([sys.executable, *arguments], cwd=ROOT, stdout=subprocess.DEVNULL, check=True)
        times.append(time.perf_counter() - began)
    return min(times)


def measure() -> tuple[float, dict[str, float]]:
    """Time of a bare interpreter, and of every case [s]."""
    return best(["-c", "pass"]), {name: best(["-c", CALL, *arguments]) for name, (arguments, _) in CASES.items()}


def table(bare: float, times: dict[str, float]) -> str:
    """The results as a table."""
    machine = f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}"
    rows = [
        f"Best of {RUNS} on one machine ({machine}), {time.strftime('%B %Y')}.\n",
        "| what | wall time [s] | bare interpreters | limit [s] |",
        "| --- | ---: | ---: | ---: |",
        f"| bare interpreter | {bare:.3f} | 1 | |",
    ]
    for name, seconds in times.items():
        limit = CASES[name][1]
        rows.append(f"| {name} | {seconds:.3f} | {seconds / bare:.0f} | {limit or ''} |")
    return "\n".join(rows)


def main() -> None:
    """Measure; write or check."""
    bare, times = measure()
    result = table(bare, times)
    print(result)
    late = [name for name, seconds in times.items() if (limit := CASES[name][1]) and seconds > limit]
    if "--check" in sys.argv[1:]:
        if late:
            sys.exit(f"slower than the limit: {', '.join(late)}")
        return
    text = README.read_text("utf-8")
    before, after = text.split(BEGIN)[0], text.split(END)[1]
    README.write_text(f"{before}{BEGIN}\n{result}\n{END}{after}", "utf-8")


if __name__ == "__main__":
    main()
