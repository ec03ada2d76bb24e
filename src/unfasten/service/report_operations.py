"""Operation sheets of the priority parts, each with its cautions and the reasons for every part that has to move."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from string import ascii_uppercase

from unfasten.record.paired import paired
from unfasten.record.record import Record
from unfasten.report.model.procedure import Operation, Procedure
from unfasten.report.model.span import Caution
from unfasten.routes.cost import Line, tally
from unfasten.routes.result import Action, Reach, Route
from unfasten.routes.unknown import Unknown
from unfasten.service.cautions import Care, action_cautions, product_cautions, route_cautions, stop_of
from unfasten.service.report_routes import object_of, proof, shown_route, verb
from unfasten.service.report_why import move_costs, open_pairs, why_moved
from unfasten.service.report_words import (
    RENEWAL,
    clean,
    clock,
    joint_name,
    listing,
    part_name,
    seconds,
    steps_span,
    time_span,
    tools_text,
    words,
)

#: roles whose moves are priced
KEY_ROLES = ("battery", "display-assembly")


@dataclass(frozen=True, slots=True)
class _Way:
    """What the lines of one operation sheet share."""

    record: Record
    letters: dict[str, str]


def procedures(record: Record, unknown: Unknown, reaches: Mapping[str, Reach]) -> tuple[Procedure, ...]:
    """Give one operation sheet per priority part, in record order; `record` is folded."""
    priority = [name for name, part in record.parts.items() if part.role not in (None, "other") and not part.stays]
    stop = stop_of(record)
    return tuple(_procedure(record, unknown, reaches[name], stop) for name in priority if name in reaches)


def as_caution(care: Care, letter: str = "") -> Caution:
    """Turn a caution of the data file into its context."""
    return Caution(letter, "stop" if care.scope == "stop" else "caution", care.title, care.text, care.source)


def _procedure(record: Record, unknown: Unknown, reach: Reach, stop: Care | None) -> Procedure:
    route = shown_route(reach)
    actions = route.actions if route and not stop else ()
    met = route_cautions(record, actions)
    letters = {care.id: letter for care, letter in zip(met, ascii_uppercase, strict=False)}
    general = () if stop else product_cautions(record)
    return Procedure(
        part=reach.target,
        name=part_name(record, reach.target),
        role=words(record.parts[reach.target].role or ""),
        steps=steps_span(reach),
        time=time_span(reach),
        additions=_additions(record, reach),
        proof=proof(reach),
        note=_note(record, unknown, reach) if actions else "",
        stop=as_caution(stop) if stop else None,
        unreachable="" if route else clean(reach.reason),
        cautions=(*(as_caution(care) for care in general), *(as_caution(care, letters[care.id]) for care in met)),
        why=why_moved(record, unknown, actions, reach.target, _costs(record, unknown, reach) if actions else None),
        operations=_operations(_Way(record, letters), actions),
        reassembly=_reassembly(actions),
        renewals=_renewals(record, actions),
    )


def _costs(record: Record, unknown: Unknown, reach: Reach) -> Mapping[Action, str] | None:
    """What the moves cost, for the parts that the summary names; each cost is a search of its own."""
    return move_costs(record, unknown, reach) if record.parts[reach.target].role in KEY_ROLES else None


def _operations(way: _Way, actions: tuple[Action, ...]) -> tuple[Operation, ...]:
    lines = tally(way.record, actions)
    before = (0, *(line.stretch for line in lines))
    return tuple(
        _operation(way, number, line, line.stretch != previous)
        for number, (line, previous) in enumerate(zip(lines, before, strict=False), 1)
    )


def _operation(way: _Way, number: int, line: Line, opens: bool) -> Operation:
    action, record = line.action, way.record
    joint = record.joints[action.joint] if action.joint else None
    release = joint is not None and action.do == "release"
    return Operation(
        number=number,
        do=verb(action),
        what=object_of(record, action),
        count=str(joint.count) if joint is not None and release else "",
        tool=tools_text(record, action.tools),
        change=bool(line.picked),
        side="" if action.side == "any" else words(action.side).lower(),
        turn=line.turned,
        time=str(seconds(action.work)),
        stretch=line.stretch,
        opens=opens,
        steps=line.steps,
        so_far=clock(line.time),
        renewal=(RENEWAL[joint.reuse] if joint.reuse else "not known") if joint is not None and release else "",
        remark=_remark(record, action),
        letters=tuple(way.letters[name] for name in action_cautions(record, action) if name in way.letters),
    )


def _remark(record: Record, action: Action) -> str:
    if action.do == "prepare":
        return "immediately before the next operation"
    if action.joint is not None:
        joint = record.joints[action.joint]
        holds = "holds " + listing([part_name(record, name) for name in joint.holds])
        return "; ".join(text for text in (clean(joint.where, 120), holds, clean(joint.note, 160)) if text)
    if action.swing is not None:
        kept = [joint_name(record, name) for name in record.swings[action.swing].keeps]
        return f"stays tethered by {listing(kept)}" if kept else ""
    if action.bundle is not None:
        return "together: " + listing([part_name(record, name) for name in record.bundles[action.bundle].parts])
    return clean(record.parts[action.part or ""].note, 160)


def _additions(record: Record, reach: Reach) -> str:
    if not reach.additions.high:
        return ""
    found = paired(record, reach.target)
    kinds = listing([f"remote {kind}" for kind in found.most])
    text = f"{reach.additions} steps are added for {kinds} of the serial number; they are not in the table."
    return f"{text} They rest on this: {clean(found.why, 400)}." if found.tests else text


def _note(record: Record, unknown: Unknown, reach: Reach) -> str:
    low, high = reach.low, reach.high
    if low is None:
        return ""
    if high is None:
        return (
            f"The low route is shown. If every open cover is real, the part cannot be reached: {clean(reach.reason)}."
        )
    if low.actions == high.actions:
        return "Nothing open lies on the way: the route is the same whether or not the open covers are real."
    pairs = open_pairs(record, unknown, low.actions, high.actions)
    what = f"If it turns out that these do not cover: {'; '.join(pairs)}; then" if pairs else "With no open cover real,"
    return f"The high route is shown. {what} {_saving(low, high, reach)}."


def _saving(low: Route, high: Route, reach: Reach) -> str:
    fewer = high.steps - low.steps
    time = f"{seconds(low.time)}\u00a0s instead of {seconds(high.time)}\u00a0s"
    if not fewer:
        return f"the steps stay {reach.steps_high} and the time is {time}"
    noun = "step" if fewer == 1 else "steps"
    return f"{fewer} {noun} fewer ({reach.steps_low} instead of {reach.steps_high}) and {time}"


def _reassembly(actions: tuple[Action, ...]) -> str:
    if not actions:
        return ""
    return (
        "Reassembly in reverse order; heating and cleaning to undo fall away, what adheres is renewed on clean faces."
    )


def _renewals(record: Record, actions: tuple[Action, ...]) -> tuple[str, ...]:
    rows = []
    for action in reversed(actions):
        if action.do != "release" or action.joint is None:
            continue
        reuse = record.joints[action.joint].reuse
        if reuse != "reusable":
            rows.append(f"{joint_name(record, action.joint)}: {RENEWAL[reuse] if reuse else 'reuse not known'}")
    return tuple(rows)
