"""The exact search against CP-SAT on records too large for brute force: both costs, in both worlds."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from support.brute_force import all_macros
from support.cpsat import Answer, cheapest, closure, events_of
from support.random_record import random_record
from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.routes.replay import replay
from unfasten.routes.result import Action, By, Route
from unfasten.routes.solve import Solver

BENCHMARKS = Path(__file__).parents[2] / "benchmarks"
#: CP-SAT's own count of work, so that what it proves does not depend on the machine
LIMIT = 0.3
#: events that may matter to a target: fewer are a matter for brute force, more CP-SAT seldom proves in time
LEAST, MOST = 10, 20
JOINTS = (15, 18, 21, 25, 30)
#: chunks, and comparisons in each that CP-SAT must prove: 220 in all
CHUNKS = range(20)
PROVEN_RANDOM, PROVEN_REALISTIC = 7, 4


def targets(record: Record, solver: Solver) -> Iterator[tuple[str, bool, Route]]:
    """In each world the reachable part for which the most events matter, within what CP-SAT can prove."""
    for real, world in ((False, solver.low), (True, solver.high)):
        events = events_of(record, real)
        sizes = {name: len(closure(events, ("part", name))) for name, part in record.parts.items() if not part.stays}
        fitting = [name for name, size in sizes.items() if LEAST <= size <= MOST]
        for name in sorted(fitting, key=lambda n: (-sizes[n], n)):
            route = world.route(name)
            if route is not None:
                yield name, real, route
                break


def actions_of(record: Record, answer: Answer) -> list[Action]:
    """CP-SAT's route as actions, for the replay."""
    macros = {}
    for macro in all_macros(record):
        last = macro[-1]
        kind = "part" if last.part else "bundle" if last.bundle else last.do
        macros[kind, last.id, -1 if last.way is None else last.way] = macro
    return [action for event in answer.route for action in macros[event]]


def compare(record: Record, by: By) -> int:
    """Assert that costs agree where CP-SAT proves, and that the replay accepts its route; how many it proved."""
    proven = 0
    solver = Solver(record, by)
    for name, real, route in targets(record, solver):
        answer = cheapest(record, name, by, real, LIMIT)
        ours = (route.steps, route.time) if by == "steps" else (route.time, route.steps)
        assert route.proven
        if answer.first is not None:
            theirs = (answer.first, answer.second)
            assert ours == theirs if answer.proven else ours <= theirs
            replayed = replay(record, actions_of(record, answer), name, solver.unknown if real else None)
            assert replayed == (theirs if by == "steps" else theirs[::-1])
        assert answer.first is not None or not answer.proven
        proven += answer.proven
    return proven


@pytest.mark.parametrize("chunk", CHUNKS)
def test_random_records(chunk: int) -> None:
    """Bundles, swings, preparations, several tools at once, open covers, circular covers."""
    proven = 0
    for seed in range(400_000 + 100 * chunk, 400_000 + 100 * (chunk + 1)):
        record = fold_log(random_record(seed, 8, 10))
        proven += compare(record, "steps" if seed % 2 else "time")
        if proven >= PROVEN_RANDOM:
            return
    pytest.fail(f"CP-SAT proved only {proven}")


@pytest.mark.parametrize("chunk", CHUNKS)
def test_realistic_records(chunk: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Devices in layers, up to 30 joints."""
    monkeypatch.syspath_prepend(str(BENCHMARKS))
    from realistic import realistic_record

    proven = 0
    for seed in range(100 * chunk, 100 * (chunk + 1)):
        record = fold_log(realistic_record(JOINTS[seed % len(JOINTS)], seed))
        proven += compare(record, "time" if seed % 2 else "steps")
        if proven >= PROVEN_REALISTIC:
            return
    pytest.fail(f"CP-SAT proved only {proven}")
