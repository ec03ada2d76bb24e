"""Work times for the doors: predictions beside the record's own times and the log's, and how well they agree."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from unfasten.effort.predict import MODELS, NOT_CODED, Model, predict_move, predict_way
from unfasten.effort.study import Agreement, Pair, agreement, normal_time, standard_time
from unfasten.effort.tables import Study, Tables, tables_with
from unfasten.effort.work import Prediction
from unfasten.evidence.errors import CallError
from unfasten.evidence.fields import unknown_remedy
from unfasten.evidence.interval import Interval
from unfasten.record.joint import Way
from unfasten.record.log import Released
from unfasten.record.record import Record
from unfasten.routes.cost import tally
from unfasten.routes.result import Action, Reach
from unfasten.service.cautions import Care, deference, product_cautions, route_cautions, stop_of


@dataclass(frozen=True, slots=True)
class WayTime:
    """A way with its predicted time, beside the record's own and the log's [s]. Nothing is written back.

    `own` is the record's time for the whole count, without preparations; None where it gives none. `observed` are times
    of the log, `normal` the same times the rating. `left_out` says why observations are not compared.
    """

    joint: str
    way: int
    kind: str
    count: int
    prediction: Prediction
    own: Fraction | None
    observed: tuple[Fraction, ...]
    normal: tuple[Fraction, ...]
    left_out: str | None

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "joint": self.joint,
            "way": self.way,
            "kind": self.kind,
            "count": self.count,
            **self.prediction.as_json(),
            "own_time_s": None if self.own is None else float(self.own),
            "observed_s": [float(time) for time in self.observed],
            "normal_s": [float(time) for time in self.normal],
            "left_out": self.left_out,
        }


@dataclass(frozen=True, slots=True)
class RouteLine:
    """One action of a route: predicted time with its tool changes and turns, and the record's own [s]."""

    action: Action
    prediction: Prediction | None
    changes: int
    turned: bool
    own: Fraction

    def as_json(self) -> dict[str, object]:
        """Give the JSON form; `predicted_s` is without tool changes and turns."""
        return {
            "do": self.action.do,
            "id": self.action.id,
            "way": self.action.way,
            "tools": list(self.action.tools),
            "tool_changes": self.changes,
            "turned": self.turned,
            "predicted_s": None if self.prediction is None else _span(self.prediction.span),
            "own_s": float(self.own),
        }


@dataclass(frozen=True, slots=True)
class RouteTime:
    """A route with predicted times. `predicted` is the sum of what the model answers, tool changes and turns included;
    `from_record` is the sum of the record's times for the rest; `total` both together, None if neither knows a time.
    """

    target: str
    lines: tuple[RouteLine, ...]
    predicted: Interval
    from_record: Fraction
    unpredicted: tuple[str, ...]
    total: Interval | None
    own_total: Fraction
    cautions: tuple[Care, ...]

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "target": self.target,
            "predicted_s": _span(self.predicted),
            "from_record_s": float(self.from_record),
            "unpredicted": list(self.unpredicted),
            "actions": [line.as_json() for line in self.lines],
            "total_s": _span(self.total),
            "own_total_s": float(self.own_total),
            "cautions": [{"title": care.title, "text": care.text, "source": care.source} for care in self.cautions],
        }


@dataclass(frozen=True, slots=True)
class WorkTimes:
    """Every way of a record (or those on the route) with predicted time, the agreement with the log, and the route."""

    product: str
    model: Model
    titles: tuple[str, ...]
    study: Study
    ways: tuple[WayTime, ...]
    agreements: tuple[Agreement, ...]
    route: RouteTime | None
    stop: Care | None
    deference: str

    def standard(self, span: Interval | None) -> Interval | None:
        """A normal time with the stated allowance [s]."""
        if span is None:
            return None
        study = self.study
        ends = (standard_time(end, study.allowance, study.allowance_of) for end in (span.low, span.high))
        return Interval(*ends)

    def as_json(self) -> dict[str, object]:
        """Give the JSON form; times in seconds, null where there is none."""
        study = self.study
        return {
            "product": self.product,
            "model": self.model,
            "tables": list(self.titles),
            "conventions": {
                "rating_percent": float(study.rating),
                "allowance_percent": float(study.allowance),
                "allowance_of": study.allowance_of,
                "confidence_percent": float(study.confidence),
                "accuracy_percent": float(study.accuracy),
            },
            "ways": [{**way.as_json(), "standard_s": _span(self.standard(way.prediction.span))} for way in self.ways],
            "agreement": [one.as_json() for one in self.agreements],
            "route": None if self.route is None else self.route.as_json(),
            "not_coded": list(NOT_CODED),
            "stop": None if self.stop is None else {"title": self.stop.title, "text": self.stop.text},
            "deference": self.deference,
        }


def work_times(record: Record, to: str | None = None, data: Path | None = None, model: str = MODELS[0]) -> WorkTimes:
    """Predict the times of every way, or of those on the shortest route to the part `to`.

    `data` is a file that replaces entries of the shipped tables. A swollen or damaged battery stops the route.
    Raises `CallError` for an unknown part or model, and `InvalidFileError` with every problem of the file.
    """
    chosen = next((name for name in MODELS if name == model), None)
    if chosen is None:
        raise CallError("worktime.unknown-model", "--model", f'no model "{model}"', unknown_remedy(model, MODELS))
    tables = tables_with(data)
    route = None if to is None else _route(record, to, tables, chosen)
    on_route = None if route is None else {(line.action.joint, line.action.way) for line in route.lines}
    ways = tuple(
        _way_time(record, name, number, tables, chosen)
        for name, joint in record.joints.items()
        for number in range(len(joint.ways))
        if on_route is None or (name, number) in on_route
    )
    stop = stop_of(record)
    return WorkTimes(
        record.product.name, chosen, tables.titles, tables.study, ways, _agreements(ways, tables.study),
        None if stop else route, stop, deference(),
    )  # fmt: skip


def _way_time(record: Record, name: str, number: int, tables: Tables, model: Model) -> WayTime:
    joint = record.joints[name]
    way = joint.ways[number]
    observed = tuple(
        Fraction(entry.took.si)
        for entry in record.log
        if isinstance(entry, Released) and entry.joint == name and (entry.way or 0) == number and entry.took is not None
    )
    prediction = predict_way(joint, way, tables, model)
    left_out = None
    if observed and way.prepare:
        left_out = "the time in the log holds the preparation too"
    elif observed and (prediction.span is None or prediction.span.low <= 0):
        left_out = "no prediction to compare with"
    normal = tuple(normal_time(time, tables.study.rating) for time in observed)
    return WayTime(
        name, number, joint.kind, joint.count, prediction, _own(way, joint.count), observed, normal, left_out
    )


def _own(way: Way, count: int) -> Fraction | None:
    return None if way.time is None else Fraction(way.time.si) * (count if way.time.each else 1)


def _agreements(ways: Iterable[WayTime], study: Study) -> tuple[Agreement, ...]:
    """Agreement by kind of operation, and over all where there is more than one kind."""
    pairs: dict[str, list[Pair]] = {}
    for way in ways:
        span, low = way.prediction.span, way.prediction.low
        if span is None or low is None or way.left_out:
            continue
        for time in way.normal:
            times = low.times
            pair = Pair(way.joint, time / times, span.low / times, span.high / times)
            pairs.setdefault(way.prediction.operation, []).append(pair)
    told = [agreement(name, found, float(study.confidence), float(study.accuracy)) for name, found in pairs.items()]
    if len(pairs) > 1:
        every = [pair for found in pairs.values() for pair in found]
        together = agreement("all", every, float(study.confidence), float(study.accuracy))
        told.append(replace(together, needed=None))  # the formula is for one kind of work
    return tuple(told)


def _route(record: Record, to: str, tables: Tables, model: Model) -> RouteTime:
    from unfasten.routes.solve import solve
    from unfasten.service.routes import check_target

    check_target(record, to, "--to")
    reach: Reach = solve(record, [to])[to]
    route = reach.high or reach.low
    if route is None:
        raise CallError("worktime.no-route", "--to", f"{to} cannot be reached: {reach.reason}", "name another part")
    lines = _lines(record, route.actions, tables, model)
    change, turn = (predict_move(name, tables, model).span for name in ("tool change", "turn over"))
    own_change, own_turn = Fraction(record.setup.tool_change.si), Fraction(record.setup.turn_over.si)
    predicted, from_record, unpredicted, known = Interval(Fraction(0), Fraction(0)), Fraction(0), [], True
    for line in lines:
        for span, own, times in ((change, own_change, line.changes), (turn, own_turn, int(line.turned))):
            predicted += Interval(Fraction(0), Fraction(0)) if span is None else span.scaled(Fraction(times))
            from_record += own * times if span is None else 0
        span = None if line.prediction is None else line.prediction.span
        if span is not None:
            predicted += span
            continue
        unpredicted.append(line.action.id)
        from_record += line.own
        known &= _has_own(record, line.action)
    total = Interval(predicted.low + from_record, predicted.high + from_record) if known else None
    cares = (*product_cautions(record), *route_cautions(record, route.actions))
    return RouteTime(to, lines, predicted, from_record, tuple(unpredicted), total, route.time, cares)


def _lines(record: Record, actions: Sequence[Action], tables: Tables, model: Model) -> tuple[RouteLine, ...]:
    return tuple(
        RouteLine(
            line.action, _predicted(record, line.action, tables, model), len(line.picked), line.turned, line.action.work
        )
        for line in tally(record, actions)
    )


def _predicted(record: Record, action: Action, tables: Tables, model: Model) -> Prediction | None:
    """None for a preparation: how long it takes is the process's own time, which the record gives."""
    if action.do == "prepare":
        return None
    if action.do == "release":
        joint = record.joints[action.joint or ""]
        return predict_way(joint, joint.ways[action.way or 0], tables, model)
    return predict_move(action.do, tables, model)


def _has_own(record: Record, action: Action) -> bool:
    """Tell whether the record gives a time for an action that is not predicted."""
    if action.do == "release":
        return record.joints[action.joint or ""].ways[action.way or 0].time is not None
    if action.do == "prepare":
        way = record.joints[action.joint or ""].ways[action.way or 0]
        return all(preparation.time is not None for preparation in way.prepare)
    return False


def _span(span: Interval | None) -> dict[str, float] | None:
    return None if span is None else {"low": float(span.low), "high": float(span.high)}
