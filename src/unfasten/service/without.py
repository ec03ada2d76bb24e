"""Answering "could you not have reached it without ...?": with the proof, or with the best route without it."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from unfasten.evidence.errors import CallError
from unfasten.record.fold import fold_log
from unfasten.record.log import Lifted
from unfasten.record.record import Record
from unfasten.routes.blocked import Block
from unfasten.routes.explain import Prerequisite, Saving, costs_of
from unfasten.routes.opencover import Kind, OpenCover
from unfasten.routes.reasons import covers_of
from unfasten.routes.result import By, Route
from unfasten.routes.unknown import Unknown
from unfasten.routes.without import PREPARATIONS, TABLES, Side, Thing, Without, without
from unfasten.service.askwords import question_text
from unfasten.service.report_words import listing, part_name
from unfasten.service.routes import action_json, cautions_json, check_target
from unfasten.service.withoutwords import action_words, chain_words, difference, does, doing, name_of

#: most questions that are named
MOST: Final = 5


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer in words beside its figures.

    `headline` answers yes or no; `chain` is the proof that there is no route, in the world named by `chain_of`.
    `instead` and `spared` are what the route without the things does more and no longer does. `moves` are what moving
    the parts in question costs on the route, `holes` what access holes in them would save. `questions` are those whose
    answers decide, or on which the answer rests. `filmed` says when the film took the parts out.
    """

    found: Without
    headline: str
    chain: tuple[str, ...]
    chain_of: str
    instead: tuple[str, ...]
    spared: tuple[str, ...]
    moves: tuple[Prerequisite, ...]
    holes: tuple[Saving, ...]
    questions: tuple[OpenCover, ...]
    filmed: str

    @property
    def shown(self) -> Route | None:
        """The route without the things: that of the high world, or of the low one where that has none."""
        return self.found.high.route or self.found.low.route


def reached_without(record: Record, part: str, names: Sequence[str], by: By = "steps", budget_s: float = 2.0) -> Answer:
    """Answer for a part and the names of things to do without; raises `CallError` for a name that has no sense here."""
    check_target(record, part, "PART")
    folded = fold_log(record)
    things = tuple(dict.fromkeys(_thing(folded, part, name) for name in names))
    found = without(folded, part, things, by, budget_s)
    side, world = (found.low, "low") if found.low.route is None else (found.high, "high")
    chain = chain_words(folded, side.blocks, things) if side.route is None else ()
    if side.reason is not None and side.route is None:
        chain = (side.reason,)
    best = found.high.best or found.low.best
    unknown = found.unknown if found.high.best is not None else Unknown({}, {}, {})
    parts = frozenset(moved for thing in things for moved in _parts(folded, thing)) - {part}
    moves, holes = costs_of(folded, unknown, best, parts, by, budget_s) if best and parts else ((), ())
    shown = found.high if found.high.route is not None else found.low
    return Answer(
        found,
        headline(folded, found),
        chain,
        world if chain else "",
        tuple(_fresh(folded, shown.route, shown.best)),
        tuple(_fresh(folded, shown.best, shown.route)),
        moves,
        holes,
        tuple(_questions(folded, found, parts))[:MOST],
        _filmed(record, part, sorted(parts, key=list(record.parts).index)),
    )


def headline(record: Record, found: Without) -> str:
    """One or two sentences: yes or no, at what cost, in which case."""
    target, things, verdict = part_name(record, found.reach.target), found.things, found.verdict
    if verdict == "unreachable":
        return f"There is no route to {target} at all: {found.reach.reason}."
    if verdict == "needed":
        case = ", whatever the open covers turn out to be" if found.unknown else ""
        return f"No: every way to {target} {_needs(record, found.low, things)}{case}."
    if verdict == "spared":
        return f"Yes: the shortest way to {target} does without {doing(record, things)}{_aside(record, found)}."
    if verdict == "open":
        return (
            f"It is open. If no open cover is real, yes: {target} can be reached without {doing(record, things)}"
            f"{_at_cost(found.low)}. If all are real, no: then every way {_needs(record, found.high, things)}."
        )
    aside = _aside(record, found)
    return f"Yes: {target} can be reached without {doing(record, things)}{aside}{_cost(found)}."


def _needs(record: Record, side: Side, things: Sequence[Thing]) -> str:
    """What every way does: each of the things that are needed by themselves, or one or the other of them all."""
    return listing([does(record, [thing]) for thing in side.alone]) if side.alone else does(record, things)


def _aside(record: Record, found: Without) -> str:
    """Which of the parts are swung aside instead."""
    route = found.high.route or found.low.route
    swung = {record.swings[a.swing].part for a in route.actions if a.swing is not None} if route is not None else set()
    names = [part_name(record, thing.id) for thing in found.things if thing.kind == "part" and thing.id in swung]
    return f" ({listing(names)} {'is' if len(names) == 1 else 'are'} only swung aside)" if names else ""


def without_json(record: Record, answer: Answer) -> dict[str, object]:
    """Give the JSON of an answer; `more` is the difference of two routes, its steps and its time [s]."""
    found, folded = answer.found, fold_log(record)
    return {
        "target": found.reach.target,
        "without": [{"kind": thing.kind, "id": thing.id, "name": name_of(folded, thing)} for thing in found.things],
        "verdict": found.verdict,
        "answer": answer.headline,
        "proven": found.proven,
        "low": _side_json(folded, found.low, found.things),
        "high": _side_json(folded, found.high, found.things),
        "instead": list(answer.instead),
        "spared": list(answer.spared),
        "costs": [_pair(one.steps, one.time) | {"id": one.action.id, "do": one.action.do} for one in answer.moves],
        "access_holes": [
            _pair(one.steps, one.time) | {"at": one.action.id, "cover": list(one.cover or ())} for one in answer.holes
        ],
        "questions": [_question_json(folded, cover) for cover in answer.questions],
        "filmed": answer.filmed,
        **cautions_json(record, () if answer.shown is None else answer.shown.actions),
    }


def _thing(record: Record, part: str, name: str) -> Thing:
    """Find what a name stands for: an id, a place such as `joints.back-glue`, or a preparation."""
    table, _, plain = name.rpartition(".")
    if not table and plain in PREPARATIONS:
        return Thing("preparation", plain)
    for of, kind in TABLES:
        if plain in getattr(record, of) and table in ("", of):
            if kind == "part":
                if plain == part:
                    message = f'"{part}" is the part to be reached'
                    raise CallError("why.without-itself", "--without", message, "name another")
                check_target(record, plain, "--without")
            return Thing(kind, plain)
    by_name = {
        name_of(record, Thing(kind, one)).lower(): one for of, kind in TABLES[::-1] for one in getattr(record, of)
    }
    if name.lower() in by_name:
        return _thing(record, part, by_name[name.lower()])
    known = [one for of, _ in TABLES for one in getattr(record, of)]
    near = difflib.get_close_matches(plain, [*known, *PREPARATIONS], 1)
    remedy = f'did you mean "{near[0]}"?' if near else "name a part, joint, bundle, swing or tool, heat or clean"
    raise CallError("why.unknown-name", "--without", f'the record has no "{name}"', remedy)


def _parts(record: Record, thing: Thing) -> tuple[str, ...]:
    """The parts that the question is about."""
    if thing.kind == "bundle":
        return record.bundles[thing.id].parts
    if thing.kind == "swing":
        return (record.swings[thing.id].part,)
    return (thing.id,) if thing.kind == "part" else ()


def _cost(found: Without) -> str:
    low, high = (side.more for side in (found.low, found.high))
    if low is None or high is None or low == high:
        more = high or low or (0, Fraction(0))
        return f", for {difference(*more)}" if any(more) else ", just as quickly"
    return f". It costs {difference(*low)} if no open cover is real, {difference(*high)} if all are"


def _at_cost(side: Side) -> str:
    more = side.more
    return "" if more is None or not any(more) else f" ({difference(*more)})"


def _fresh(record: Record, route: Route | None, other: Route | None) -> Iterator[str]:
    """What one route does that the other does not, in its order, without preparations."""
    if route is not None and other is not None:
        known = {(a.do, a.id, a.way) for a in other.actions}
        for action in route.actions:
            if action.do != "prepare" and (action.do, action.id, action.way) not in known:
                yield action_words(record, action)


def _questions(record: Record, found: Without, parts: frozenset[str]) -> Iterator[OpenCover]:
    """Open covers on which the proof of the high world rests, then those by the parts on its best route."""
    out = dict.fromkeys(cover for block in found.high.blocks for cover in _open_of(record, block))
    if found.verdict in ("open", "choice") and found.high.best is not None:
        for action in found.high.best.actions:
            if action.do in ("release", "lift"):
                open_parts = covers_of(record, found.unknown, action)[1]
                kind: Kind = "joint" if action.joint else "bundle" if action.bundle else "part"
                out |= {OpenCover(kind, action.id, action.way, one): None for one in open_parts if one in parts}
    yield from out if found.verdict in ("open", "choice") else ()


def _open_of(record: Record, block: Block) -> Iterator[OpenCover]:
    if block.how == "covered" and block.open:
        if block.kind == "release":
            yield OpenCover("joint", block.id, block.way or 0, block.cover[0])
        else:
            yield OpenCover("part" if block.id in record.parts else "bundle", block.id, None, block.cover[0])


def _filmed(record: Record, part: str, parts: Sequence[str]) -> str:
    """When the film took the parts out, and the part to be reached."""
    times: dict[str, str] = {}
    place: dict[str, int] = {}
    for number, entry in enumerate(record.log):
        if isinstance(entry, Lifted):
            lifted = [entry.part] if entry.part is not None else record.bundles[entry.bundle or ""].parts
            for name in lifted:
                times.setdefault(name or "", f" at {entry.at}" if entry.at is not None else "")
                place.setdefault(name or "", number)
    before = [name for name in parts if part in place and name in place and place[name] < place[part]]
    if not before:
        return ""
    names = listing([part_name(record, name) + times[name] for name in before])
    return f"On film: {names} came out before {part_name(record, part)}{times[part]}."


def _side_json(record: Record, side: Side, things: Sequence[Thing]) -> dict[str, object]:
    more = side.more
    return {
        "best": None if side.best is None else _route_json(side.best),
        "without": None if side.route is None else _route_json(side.route),
        "more": None if more is None else _pair(*more),
        "because": [*chain_words(record, side.blocks, things), *([side.reason] if side.reason else [])],
    }


def _route_json(route: Route) -> dict[str, object]:
    actions = [action_json(action) for action in route.actions]
    return _pair(route.steps, route.time) | {"proven": route.proven, "actions": actions}


def _question_json(record: Record, cover: OpenCover) -> dict[str, object]:
    return {"text": question_text(record, cover), "at": cover.place, "cover": cover.cover}


def _pair(steps: int, time: Fraction) -> dict[str, object]:
    return {"steps": steps, "time_s": round(float(time), 6)}


def question_command(record_path: str, cover: OpenCover) -> str:
    """The command that enters the answer to a question; yes or no is left to the reader."""
    way = f" --way {cover.way}" if cover.way else ""
    return f"unfasten answer {record_path} --{cover.kind} {cover.id}{way} --cover {cover.cover} --yes|--no"
