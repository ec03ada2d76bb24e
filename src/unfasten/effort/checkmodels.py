"""What the check values of work times are computed with: the same functions, fed by hand."""

from __future__ import annotations

import math
import statistics
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from unfasten.effort.predict import worksheet_time
from unfasten.effort.sequence import read_sequence, seconds
from unfasten.effort.study import normal_time, observations_needed, standard_time, t_factor
from unfasten.effort.tables import shipped
from unfasten.evidence.checkvalue import Computed, Models
from unfasten.evidence.interval import exact

MODELS = Models()
#: cents of a dollar over seconds of an hour: cost in cents = time [s] x rate [$/h] / 36
_CENTS_PER_RATE = Fraction(100, 3600)


@MODELS.model("work-times.sequence")
def sequence(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Sum of indices, TMU and seconds of a sequence done `times` times."""
    tables, read, times = shipped(), read_sequence(given["sequence"]), given.get("times", 1)
    tmu = read.tmu(tables.factor, times)
    return {"sum": read.total, "tmu": tmu, "seconds": seconds(tmu, tables.tmu_s)}


@MODELS.model("work-times.index")
def index(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Index of a letter for a count; `beyond` where the table ends below it."""
    found = shipped().counted[given["letter"]].index(exact(given["count"]))
    return {"index": "beyond" if found is None else found}


@MODELS.model("work-times.worksheet")
def worksheet(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Rows (tool, repeats, removal, set-aside) of a worksheet: time of each [s], and total with its cost [cent]."""
    times = [
        worksheet_time(exact(tool), repeats, exact(removal), exact(aside))
        for tool, repeats, removal, aside in given["rows"]
    ]
    rate = exact(given["rate"]) * _CENTS_PER_RATE
    rows: dict[str, Computed] = {f"row-{number}": time for number, time in enumerate(times, 1)}
    costs = {f"cents-{number}": time * rate for number, time in enumerate(times, 1)}
    return {**rows, **costs, "total": sum(times), "cents": sum(times) * rate}


@MODELS.model("work-times.standard")
def standard(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Normal and standard time of elements, each with its observations, rating [%] and share of cycles."""
    normal = Fraction(0)
    for element in given["elements"]:
        observed = [exact(time) for time in element["observed"]]
        mean = sum(observed, Fraction(0)) / len(observed)
        normal += normal_time(mean, exact(element["rating"])) / element.get("every", 1)
    allowance = exact(given["allowance"])
    return {
        "normal": normal,
        "of_job": standard_time(normal, allowance, "job"),
        "of_shift": standard_time(normal, allowance, "shift"),
    }


@MODELS.model("work-times.observations")
def observations(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Observations needed, exact and rounded up; from times, or from mean and standard deviation.

    `factor` is z or t; with `freedom` it is t of that many degrees for the `confidence`. `population`: the short form
    of the formula, which divides by n in place of n - 1.
    """
    if "times" in given:
        times = [float(exact(time)) for time in given["times"]]
        mean = statistics.fmean(times)
        s = statistics.pstdev(times) if given.get("population") else statistics.stdev(times)
    else:
        mean, s = float(exact(given["mean"])), float(exact(given["s"]))
    factor = (
        t_factor(float(given["confidence"]), given["freedom"]) if "freedom" in given else float(exact(given["factor"]))
    )
    n = observations_needed(mean, s, factor, float(exact(given["accuracy"])))
    return {"n": n, "needed": math.ceil(n), "factor": factor}
