"""Why a part cannot be reached: which joint cannot be released, which covers hold each other."""

from __future__ import annotations

from unfasten.record.record import Record
from unfasten.routes.necessity import bits
from unfasten.routes.problem import Problem
from unfasten.routes.unknown import Unknown


def why_unreachable(record: Record, problem: Problem, table: list[int], target: str, unknown: Unknown | None) -> str:
    """Follow what blocks the target until it repeats or ends, and say it in words."""
    prefix = "if every unknown cover is real, " if unknown else ""
    start = problem.target[target]
    if table[start] >= 0:
        return f"{prefix}{target} has no legal route: bundles or swings that it needs rule each other out"
    chain: list[int] = [start]
    sentences: list[str] = []
    while True:
        sentence, following = _blocked(record, problem, table, chain[-1])
        sentences.append(sentence)
        if following is None:
            return prefix + "; ".join(sentences)
        if following in chain:
            ring = [_name(problem, index) for index in chain[chain.index(following) :]]
            return prefix + "; ".join(sentences) + f": so {' and '.join(dict.fromkeys(ring))} hold each other"
        chain.append(following)


def _blocked(record: Record, problem: Problem, table: list[int], index: int) -> tuple[str, int | None]:
    """Say what blocks one event, and which event to look at next."""
    event = problem.events[index]
    name = _name(problem, index)
    for joint in bits(event.needs):
        if table[joint] < 0:
            return f"{name} is held by {problem.events[joint].id}, which cannot be released", joint
    for way in event.ways:
        for clause in way.clauses:
            members = bits(clause)
            if members and any(table[member] >= 0 for member in members):
                continue
            covers = _covers(record, event.kind, event.id, way.number, members, problem)
            relation = "lies under" if event.kind == "release" else "is behind"
            if not members:
                return f"{name} {relation} {covers}, which nothing can clear first", None
            return f"{name} {relation} {covers}", members[0]
    return f"{name} has no way that can be met", None


def _covers(record: Record, kind: str, name: str, number: int | None, members: list[int], problem: Problem) -> str:
    if members:
        return " or ".join(dict.fromkeys(problem.events[member].id for member in members))
    if kind == "release":
        under = record.joints[name].ways[number or 0].under
        return " and ".join(" or ".join(clause) for clause in under) or "a part that it holds"
    return "a part that comes out only with it"


def _name(problem: Problem, index: int) -> str:
    event = problem.events[index]
    return f"the joint {event.id}" if event.kind == "release" else event.id
