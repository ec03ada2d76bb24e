"""Comparing records: what differs in them, in their routes and in their scores, as headlines and as one table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from unfasten.compare.comparison import Compared, compare_records
from unfasten.compare.difference import Difference
from unfasten.compare.headline import Headline, headlines
from unfasten.compare.match import Row
from unfasten.compare.pins import Pins, pins_of, read_pins
from unfasten.compare.sides import Pair
from unfasten.record.record import Record
from unfasten.routes.result import Reach
from unfasten.routes.world import DEFAULT_BUDGET_S
from unfasten.rules.assessment import Assessment
from unfasten.service.assess import DEFAULT_RULES, assess
from unfasten.service.compare_routes import priority_names, priority_parts, route_differences
from unfasten.service.compare_scores import score_differences


@dataclass(frozen=True)
class Step:
    """From one record to the next: the differences, and the headlines that hold each of them once."""

    before: int
    after: int
    pair: Pair
    differences: tuple[Difference, ...]
    headlines: tuple[Headline, ...]


@dataclass(frozen=True)
class Comparison:
    """Two to eight records compared; `reaches` are of the priority parts, by fewest steps."""

    records: tuple[Record, ...]
    rows: tuple[Row, ...]
    reaches: tuple[dict[str, Reach], ...]
    assessments: tuple[Assessment, ...]
    steps: tuple[Step, ...]
    on: date
    unproven: tuple[str, ...] = field(default=())

    def name_in(self, step: Step, one: Difference) -> str:
        """Name of what a difference is about."""
        return subject(step.pair, one)


def compare(
    records: Sequence[Record],
    on: date,
    *,
    pins: Pins | None = None,
    rules: str = DEFAULT_RULES,
    budget_s: float = DEFAULT_BUDGET_S,
) -> Comparison:
    """Compare two to eight records under a rule set on a day; `budget_s` [s, nominal] bounds the search for each part.

    Raises `CallError` for another number of records or an unknown rule set.
    """
    from unfasten.routes.solve import solve

    compared: Compared = compare_records(records, pins)
    reaches = tuple(
        solve(record, _wanted(compared, number), "steps", budget_s) for number, record in enumerate(records)
    )
    assessments = tuple(assess(record, reach, on, rules) for record, reach in zip(records, reaches, strict=True))
    steps = []
    for number, (structure, found) in enumerate(compared.steps):
        pair = structure.pair
        every = (
            *found,
            *route_differences(structure, reaches[number], reaches[number + 1]),
            *score_differences(pair, assessments[number], assessments[number + 1]),
        )
        told = headlines(every, priority_names(pair), lambda one, pair=pair: subject(pair, one))  # type: ignore[misc]
        steps.append(Step(number, number + 1, pair, every, told))
    return Comparison(
        tuple(records), compared.rows, reaches, assessments, tuple(steps), on, _unproven(records, reaches)
    )  # fmt: skip


def pins_for(records: Sequence[Record], pairs: Sequence[str], breaks: Sequence[str], file: Path | None) -> Pins:
    """What a person says about pairs, from options and a file; raises `CallError` or `InvalidFileError`."""
    more = ((), ()) if file is None else read_pins(file)
    return pins_of(records, (*pairs, *more[0]), (*breaks, *more[1]))


def _wanted(compared: Compared, number: int) -> list[str]:
    """Parts of a record that are priority parts in it or in a neighbour, in its order."""
    record = compared.records[number]
    wanted = set(priority_parts(record))
    for index, (structure, _) in enumerate(compared.steps):
        pair = structure.pair
        for place, side in ((index, pair.before), (index + 1, pair.after)):
            if place == number:
                wanted |= {side.ids[common] for common in priority_names(pair) if common in side.ids}
    return [name for name, part in record.parts.items() if name in wanted and not part.stays]


def _unproven(records: Sequence[Record], reaches: Sequence[dict[str, Reach]]) -> tuple[str, ...]:
    """Routes that the search did not prove, as `record: part`."""
    return tuple(
        f"{record.product.name}: {record.parts[part].name}"
        for record, reach in zip(records, reaches, strict=True)
        for part, one in reach.items()
        if any(route is not None and not route.proven for route in (one.low, one.high))
    )


def subject(pair: Pair, one: Difference) -> str:
    """Name of what a difference is about: a part by its name, a joint or another entry by its id in words."""
    for side, name in ((pair.after, one.about[1]), (pair.before, one.about[0])):
        if name is None:
            continue
        if one.kind in ("re-fastened", "covered", "bundled"):
            return name.replace("-", " ").capitalize()
        if one.kind == "swings":
            return side.record.parts[side.record.swings[name].part].name
        if name in side.record.parts:
            return side.record.parts[name].name
    return {"promised": "Offer", "re-scored": "Score"}.get(one.kind, "Product")
