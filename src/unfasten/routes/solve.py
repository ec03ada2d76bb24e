"""Routes to the parts of a record: low and high, by steps or by time, proven and replayed."""

from __future__ import annotations

from collections.abc import Sequence

from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.routes.pairing import additions
from unfasten.routes.result import By, Reach
from unfasten.routes.unknown import Unknown, unknown_covers
from unfasten.routes.world import DEFAULT_BUDGET_S, World


def solve(
    record: Record, targets: Sequence[str] | None = None, by: By = "steps", budget_s: float = DEFAULT_BUDGET_S
) -> dict[str, Reach]:
    """Give the reach of every part except the one that stays, or of `targets`, in the record's order."""
    names = [name for name, part in record.parts.items() if not part.stays] if targets is None else targets
    solver = Solver(fold_log(record), by, budget_s)
    return {name: solver.reach(name) for name in names}


def solve_both(record: Record, budget_s: float = DEFAULT_BUDGET_S) -> dict[By, dict[str, Reach]]:
    """Give the reach of every part by steps and by time; quicker than two calls of `solve`."""
    solver = Solver(fold_log(record), "steps", budget_s)
    names = [name for name, part in record.parts.items() if not part.stays]
    orders: tuple[By, By] = ("steps", "time")
    return {by: {name: solver.reach(name, by=by) for name in names} for by in orders}


def solve_together(
    record: Record, targets: Sequence[str], by: By = "steps", budget_s: float = DEFAULT_BUDGET_S
) -> Reach:
    """Give the reach of several parts at once: one route after which each has been lifted alone."""
    return Solver(fold_log(record), by, budget_s).reach(*targets)


class Solver:
    """A folded record in its two worlds: no unknown cover real (low), and all of them (high)."""

    def __init__(self, record: Record, by: By, budget_s: float = DEFAULT_BUDGET_S, *, ordered: bool = True) -> None:
        """`ordered` as in `World`."""
        self.record = record
        self.unknown = unknown_covers(record)
        self.low = World(record, None, by, budget_s, ordered=ordered)
        self.high = self.low
        if self.unknown:
            self.high = World(record, self.unknown, by, budget_s, like=self.low, ordered=ordered)
        self.open_events = _open_events(self.unknown, self.low)

    def reach(self, *targets: str, by: By | None = None) -> Reach:
        """Low and high route to one part, or to several at once, by the solver's objective unless another is given."""
        name = "+".join(targets)
        added = additions(self.record, targets)
        low = self.low.route(*targets, by=by)
        if low is None:
            return Reach(name, None, None, added, self._reason(self.low, targets))
        high = low
        if any(self.low.closure(target) & self.open_events for target in targets):
            high_or_none = self.high.route(*targets, by=by)
            if high_or_none is None:
                return Reach(name, low, None, added, self._reason(self.high, targets))
            high = high_or_none
        return Reach(name, low, high, added)

    def _reason(self, world: World, targets: tuple[str, ...]) -> str:
        alone = [target for target in targets if world.route(target) is None]
        return "; ".join(world.reason(target) for target in alone or targets[:1])


def _open_events(unknown: Unknown, world: World) -> int:
    """Events with unknown covers, as a mask over the events of the world's problem."""
    releases = {("release", name) for name, _ in unknown.ways}
    names = releases | {("lift", name) for name in (*unknown.parts, *unknown.bundles)}
    return sum(1 << i for i, event in enumerate(world.problem.events) if (event.kind, event.id) in names)
