"""Cut a record to what can matter to one part, whichever of its open covers turn out to be real.

The closure runs backwards over all ways at once, so it holds in every world; the cut record then compiles quickly.
"""

from __future__ import annotations

from collections.abc import Iterable

from unfasten.record.fold import lift_of
from unfasten.record.joint import Joint, Way
from unfasten.record.part import Lift, Part
from unfasten.record.record import Record
from unfasten.record.types import Cover
from unfasten.routes.necessity import relevant
from unfasten.routes.problem import compile_problem
from unfasten.routes.unknown import Unknown

Events = frozenset[tuple[str, str]]


class Scope:
    """The events that can matter to each part of a folded record in some world between none and all of `unknown`."""

    def __init__(self, record: Record, unknown: Unknown) -> None:
        self.record = record
        self.problem = compile_problem(_loosened(record, unknown))
        self.anything = [0] * len(self.problem.events)

    def events(self, target: str) -> Events:
        """Events as (kind, id); kind is `lift`, `swing` or `release`."""
        mask = relevant(self.problem, self.anything, self.problem.target[target])
        return frozenset((e.kind, e.id) for i, e in enumerate(self.problem.events) if mask >> i & 1)

    def cut(self, events: Events) -> Record:
        """The record with these events only; other parts that they mention stay for good."""
        old = self.record
        joints = {name: joint for name, joint in old.joints.items() if ("release", name) in events}
        bundles = {name: bundle for name, bundle in old.bundles.items() if ("lift", name) in events}
        swings = {
            name: swing.model_copy(update={"keeps": tuple(keep for keep in swing.keeps if keep in joints)})
            for name, swing in old.swings.items()
            if ("swing", name) in events
        }
        parts = {
            name: part if ("lift", name) in events else part.model_copy(update={"stays": True})
            for name, part in old.parts.items()
        }
        return old.model_copy(
            update={"parts": parts, "joints": joints, "bundles": bundles, "swings": swings, "log": ()}
        )


def _loosened(record: Record, unknown: Unknown) -> Record:
    """Each event with one way, under any one of all parts that may cover it: so its clause holds every move."""
    joints = {name: _loose_joint(name, joint, unknown) for name, joint in record.joints.items()}
    parts: dict[str, Part] = {}
    for name, part in record.parts.items():
        lift = Lift(behind=_any(lift_of(part).behind, unknown.parts.get(name, ())))
        parts[name] = part.model_copy(update={"lift": lift})
    bundles = {
        name: bundle.model_copy(update={"lift": Lift(behind=_any(bundle.lift.behind, unknown.bundles.get(name, ())))})
        for name, bundle in record.bundles.items()
    }
    swings = {
        name: swing.model_copy(update={"lift": Lift(behind=_any(swing.lift.behind, ()))})
        for name, swing in record.swings.items()
    }
    return record.model_copy(update={"parts": parts, "joints": joints, "bundles": bundles, "swings": swings, "log": ()})


def _loose_joint(name: str, joint: Joint, unknown: Unknown) -> Joint:
    listed = [clause for way in joint.ways for clause in way.under]
    open_ = [part for number in range(len(joint.ways)) for part in unknown.ways.get((name, number), ())]
    return joint.model_copy(update={"ways": (Way(under=_any(listed, open_)),)})


def _any(clauses: Iterable[Cover], more: Iterable[str]) -> tuple[Cover, ...]:
    parts = dict.fromkeys([*(part for clause in clauses for part in clause), *more])
    return (tuple(parts),) if parts else ()
