"""Predicted normal times of ways, lifts, swings, tool changes and turns, under two published models side by side.

`sequences`: sequences of indexed motions. `worksheet`: seconds per operation of a textbook worksheet. The answer names
its model. Where a model has no figure, or a count lies beyond its table, it refuses.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from types import MappingProxyType
from typing import Final, Literal

from unfasten.effort.screw import spins_of
from unfasten.effort.sequence import seconds
from unfasten.effort.tables import Operation, Tables
from unfasten.effort.work import Prediction, Work, refusal
from unfasten.evidence.interval import short_text
from unfasten.record.joint import Joint, Way

Model = Literal["sequences", "worksheet"]
#: what was found from memory only, or not at all, and so is in no table
NOT_CODED: Final = (
    "wrist turns, strokes, cranks, taps and power tools: not coded, see the data card of BasicMOST",
    "seconds for glue, tape and connectors of phones by other published methods: not coded, see their tables",
)
MODELS: Final[tuple[Model, ...]] = ("sequences", "worksheet")


def predict_way(joint: Joint, way: Way, tables: Tables, model: Model) -> Prediction:
    """Predict the release of a joint by a way: all of its count, tools in hand, without preparations [s]."""
    name = joint.kind if way.tools else f"{joint.kind} by hand"
    return _BY_MODEL[model](name, joint, way, tables)


def predict_move(
    name: Literal["lift", "swing", "tool change", "turn over"], tables: Tables, model: Model
) -> Prediction:
    """Predict one lift, swing, tool change or turn of the product [s]."""
    return _move_most(name, tables) if model == "sequences" else _sheet(name, 1, tables)


def _most(name: str, joint: Joint, way: Way, tables: Tables) -> Prediction:
    if name not in tables.operations:
        return _no_model(name, joint.kind, tables)
    operation = tables.operations[name]
    times = joint.count if operation.per == "each" else 1
    if not operation.sequence.names():
        work = _work(operation, {}, times, tables)
        return Prediction(name, work, work, confidence=operation.confidence, why=operation.why)
    if set(operation.sequence.names()) != {"spins"}:
        return refusal(name, f"nothing tells {', '.join(operation.sequence.names())}")
    return _screw(name, operation, joint, times, tables)


def _screw(name: str, operation: Operation, joint: Joint, times: int, tables: Tables) -> Prediction:
    spins = spins_of(joint, tables)
    if spins.least is None or spins.most is None:
        return refusal(name, "how far the screws turn is not known", spins.missing)
    works = []
    for count in (spins.least, spins.most):
        indices, beyond = _indices(operation, count, tables)
        if beyond:
            return refusal(name, beyond, "time it, or give a table that reaches further (--data)")
        works.append(_work(operation, indices, times, tables))
    low, high = works
    reason = None if low == high else "how much of the thread is engaged is not in the record"
    look = None if low == high else "count the turns of one screw, and set engaged_least and engaged_most (--data)"
    return Prediction(name, low, high, reason, look, operation.confidence, operation.why)


def _indices(operation: Operation, count: Fraction, tables: Tables) -> tuple[dict[str, int], str | None]:
    out = {}
    for element in operation.sequence.elements():
        if element.name is not None:
            table = tables.counted[element.letter]
            index = table.index(count)
            if index is None:
                most = short_text(table.most)
                return {}, f"{float(count):.2f} {table.of} are more than the table of {element.letter} reaches: {most}"
            out[element.name] = index
    return out, None


def _work(operation: Operation, indices: dict[str, int], times: int, tables: Tables) -> Work:
    sequence = operation.sequence.filled(indices)
    tmu = sequence.tmu(tables.factor, times)
    return Work(seconds(tmu, tables.tmu_s), str(sequence), times, tmu)


def _move_most(name: str, tables: Tables) -> Prediction:
    operation = tables.operations.get(name)
    if operation is None or operation.sequence.names():
        return refusal(name, f"the tables have no sequence for {name}")
    work = _work(operation, {}, 1, tables)
    return Prediction(name, work, work, confidence=operation.confidence, why=operation.why)


def _by_sheet(name: str, joint: Joint, way: Way, tables: Tables) -> Prediction:
    return _sheet(joint.kind, joint.count, tables)


def _sheet(name: str, times: int, tables: Tables) -> Prediction:
    unit = tables.worksheet.get(name)
    if unit is None:
        return _no_model(name, name, tables)
    low, high = (
        Work(worksheet_time(Fraction(0), times, each, unit.aside), _written(each, unit.aside), times)
        for each in (unit.least, unit.most)
    )
    reason = None if low == high else "the source gives more than one figure"
    return Prediction(name, low, high, reason, None, unit.confidence, unit.at or "")


def _written(each: Fraction, aside: Fraction) -> str:
    return f"({short_text(each)} + {short_text(aside)}) s" if aside else f"{short_text(each)} s"


def worksheet_time(tool: Fraction, times: int, removal: Fraction, aside: Fraction) -> Fraction:
    """Operation time of a worksheet row: tool acquisition + repeats x (removal + set-aside) [s].

    Source: yang-el-haik, Table 10.5.

    >>> float(worksheet_time(Fraction("4.2"), 3, Fraction("11.3"), Fraction("1.4")))
    42.3
    """
    return tool + times * (removal + aside)


def _no_model(name: str, kind: str, tables: Tables) -> Prediction:
    reason = tables.refused.get(kind, f"the model has no figure for {name}")
    return refusal(name, reason, "time it on the bench, or give a figure of your own (--data)")


_BY_MODEL: Final[MappingProxyType[Model, Callable[[str, Joint, Way, Tables], Prediction]]] = MappingProxyType(
    {"sequences": _most, "worksheet": _by_sheet}
)
