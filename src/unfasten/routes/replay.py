"""Independent replay: is this sequence legal, and what does it cost?

Written from the model alone, with sets of names and pieces and without anything of the search, so that a fault in one
is caught by the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from unfasten.record.fold import lift_of
from unfasten.record.part import Lift
from unfasten.record.record import Record
from unfasten.record.types import Noun
from unfasten.routes.cost import cost
from unfasten.routes.result import Action
from unfasten.routes.unknown import Unknown


class IllegalRouteError(AssertionError):
    """A sequence that the model does not allow; the message names the action and the reason."""


def joints_of(record: Record) -> dict[str, list[str]]:
    """The joints that hold each part."""
    joints: dict[str, list[str]] = {name: [] for name in record.parts}
    for name, joint in record.joints.items():
        for part in dict.fromkeys(joint.holds):
            joints[part].append(name)
    return joints


class Bench:
    """The product as it comes apart: which part is in which piece, what is released and what is swung aside.

    `record` must be folded; `unknown` covers count as real where given; `joints` are its `joints_of`, if known.
    """

    def __init__(
        self, record: Record, unknown: Unknown | None = None, joints: Mapping[str, list[str]] | None = None
    ) -> None:
        self.record = record
        self.unknown = unknown or Unknown({}, {}, {})
        self.piece = dict.fromkeys(record.parts, "product")
        self.released: set[str] = set()
        self.swung: set[str] = set()
        self.joints = joints_of(record) if joints is None else joints

    def why_not(self, action: Action) -> str | None:
        """Say why the action is not allowed now; None if it is."""
        if action.do in ("release", "prepare"):
            return self._why_no_release(action.joint or "", action.way or 0)
        if action.do == "swing":
            return self._why_no_swing(action.swing or "")
        if action.part is not None:
            return self._why_no_part(action.part)
        return self._why_no_bundle(action.bundle or "")

    def do(self, action: Action) -> None:
        """Carry the action out; raise `IllegalRouteError` if the model does not allow it now."""
        reason = self.why_not(action)
        if reason:
            raise IllegalRouteError(f"{action.do} {action.id}: {reason}")
        if action.do == "release":
            self.released.add(action.joint or "")
        elif action.do == "swing":
            self.swung.add(action.swing or "")
        elif action.part is not None:
            self.piece[action.part] = f"part {action.part}"
        elif action.bundle is not None:
            for part in self.record.bundles[action.bundle].parts:
                self.piece[part] = f"bundle {action.bundle}"

    def is_lifted(self, part: str) -> bool:
        """Tell whether the part has been lifted alone."""
        return self.piece[part] == f"part {part}"

    def _uncleared(self, clauses: Iterable[Iterable[str]], piece: str, what: str) -> str | None:
        for clause in clauses:
            if not any(self._is_clear(cover, piece, what) for cover in clause):
                return f"covered by {' or '.join(clause)}"
        return None

    def _is_clear(self, cover: str, piece: str, what: str) -> bool:
        if self.piece[cover] != piece:
            return True
        swings = self.record.swings
        return any(swings[s].part == cover and what not in swings[s].still_covers for s in self.swung)

    def _why_no_release(self, joint: str, number: int) -> str | None:
        if joint in self.released:
            return "already released"
        model = self.record.joints[joint]
        way = model.ways[number]
        piece = self.piece[model.holds[0]]
        extra = [(part,) for part in self.unknown.ways.get((joint, number), ())]
        return self._uncleared([*way.under, *extra], piece, joint)

    def _holding(self, part: str) -> list[str]:
        """Joints of a part that are still done up."""
        return [name for name in self.joints[part] if name not in self.released]

    def _why_no_part(self, part: str) -> str | None:
        if self.record.parts[part].stays:
            return "it stays"
        if self.is_lifted(part):
            return "already lifted"
        held = self._holding(part)
        if held:
            return f"held by {', '.join(held)}"
        lift = lift_of(self.record.parts[part])
        return self._uncleared([*lift.behind, *_single(self.unknown.parts.get(part))], self.piece[part], part)

    def _why_no_bundle(self, bundle: str) -> str | None:
        model = self.record.bundles[bundle]
        pieces = {self.piece[part] for part in model.parts}
        if len(pieces) > 1:
            return "its parts are no longer in one piece"
        (piece,) = pieces
        larger = piece.startswith("bundle ") and set(model.parts) < set(self.record.bundles[piece[7:]].parts)
        if piece != "product" and not larger:
            return "it is not in the product or in a larger bundle"
        near = dict.fromkeys(name for part in model.parts for name in self._holding(part))
        held = [name for name in near if set(self.record.joints[name].holds) - set(model.parts)]
        if held:
            return f"held by {', '.join(held)}"
        return self._uncleared([*model.lift.behind, *_single(self.unknown.bundles.get(bundle))], piece, bundle)

    def _why_no_swing(self, swing: str) -> str | None:
        model = self.record.swings[swing]
        if swing in self.swung:
            return "already swung"
        if self.piece[model.part] != "product":
            return "it is no longer in the product"
        held = [name for name in self._holding(model.part) if name not in model.keeps]
        if held:
            return f"held by {', '.join(held)}"
        return self._uncleared(model.lift.behind, "product", "")


def _single(parts: Sequence[str] | None) -> list[tuple[str]]:
    return [(part,) for part in parts or ()]


def replay(
    record: Record,
    actions: Sequence[Action],
    target: str | Sequence[str],
    unknown: Unknown | None = None,
    joints: Mapping[str, list[str]] | None = None,
) -> tuple[int, Fraction]:
    """Check that the sequence is legal, repeats nothing and ends with `target` (or each) lifted alone; give its cost.

    Raises `IllegalRouteError`. `record` must be folded; `joints` are its `joints_of`, if known.
    """
    bench = Bench(record, unknown, joints)
    pending: list[Action] = []
    for action in actions:
        if pending and (action.do, action.joint, action.way) not in (
            ("prepare", pending[0].joint, pending[0].way),
            ("release", pending[0].joint, pending[0].way),
        ):
            raise IllegalRouteError(f"prepare {pending[0].joint}: its release does not follow")
        if action.do == "prepare":
            pending.append(action)
            if bench.why_not(action):
                raise IllegalRouteError(f"prepare {action.joint}: {bench.why_not(action)}")
            continue
        _check_fields(record, action, pending)
        pending = []
        bench.do(action)
    if pending:
        raise IllegalRouteError(f"prepare {pending[0].joint}: its release does not follow")
    for part in [target] if isinstance(target, str) else target:
        if not bench.is_lifted(part):
            raise IllegalRouteError(f"{part} is not lifted alone at the end")
    return cost(record, actions)


def _check_fields(record: Record, action: Action, prepared: list[Action]) -> None:
    """Check an action's tools, side and work against the model, so that the cost counted is the model's."""
    model: Noun
    if action.do == "release":
        joint = record.joints[action.joint or ""]
        model = joint.ways[action.way or 0]
        times = joint.count if model.time is not None and model.time.each else 1
        wanted = [(p.do, p.tools, model.side, _seconds(p)) for p in model.prepare]
        if [(p.what, p.tools, p.side, p.work) for p in prepared] != wanted:
            raise IllegalRouteError(f"release {action.joint}: the preparations of its way are not done just before it")
    else:
        model, times = _lift_model(record, action), 1
    work = _seconds(model) if times == 1 else times * _seconds(model)
    if (action.tools, action.side, action.work) != (model.tools, model.side, work):
        raise IllegalRouteError(f"{action.do} {action.id}: tools, side or time differ from the record")


def _lift_model(record: Record, action: Action) -> Lift:
    if action.do == "swing":
        return record.swings[action.swing or ""].lift
    if action.part is not None:
        return lift_of(record.parts[action.part])
    return record.bundles[action.bundle or ""].lift


def _seconds(model: Noun) -> Fraction:
    time = getattr(model, "time", None)
    return Fraction(0) if time is None else _exact(time.si)


@lru_cache(maxsize=4096)
def _exact(seconds: Decimal) -> Fraction:
    return Fraction(seconds)
