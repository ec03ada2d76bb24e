"""The catalogue: every single change of construction or supply that may bring a record's priority parts nearer.

What is left out cannot win: the kind of a joint (no rule and no route reads it; what it entails is its reuse, its tools
and its preparation), a reuse between the present one and reusable (the points rise with the reuse, and no route moves),
and every joint, lift or tool that stands on no way to a part in question.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from unfasten.evidence.place import Path
from unfasten.record.change import BY_HAND, NONE, Edit, Op
from unfasten.record.fold import lift_of
from unfasten.record.paired import paired
from unfasten.record.part import Lift
from unfasten.record.record import Record
from unfasten.routes.revision import Touch

#: tool classes from the best to the worst
CLASSES: Final = ("basic", "with-part", "with-product", "commercial", "proprietary")
EVERY: Final = "all"


@dataclass(frozen=True, slots=True)
class Change:
    """One change: its edit, what it does in words, and the events of the routes that it touches.

    `touched` None: it changes which parts come out together, so that every route must be looked at anew.
    """

    edit: Edit
    says: str
    touched: tuple[Touch, ...] | None = ()

    @property
    def moves_points(self) -> bool:
        """Tell whether it gives points otherwise than by the routes."""
        return self.edit.path[0] in ("tools", "supply") or self.edit.path[-1] in ("reuse", "pairing")

    @property
    def text(self) -> str:
        """What a person would type."""
        return str(self.edit)


def catalogue(record: Record, events: Sequence[Touch], targets: Sequence[str]) -> list[Change]:
    """Changes to a settled record; `events` are those that can matter to the targets."""
    joints = [name for kind, name in events if kind == "joint"]
    lifts = [(kind, name) for kind, name in events if kind != "joint"]
    tools = list(dict.fromkeys(_tools_used(record, joints, lifts)))
    basic = [tool for tool in tools if record.tools[tool].tool_class == "basic"]
    out: list[Change] = []
    for name in joints:
        out += _of_joint(record, name, basic)
    for kind, name in lifts:
        out += _of_lift(record, kind, name)
    for tool in tools:
        out += _of_tool(record, tool, joints)
    out += [_change(("bundles", name), "=", NONE, f"split up {name}", None) for name in record.bundles]
    out += [
        _change(("parts", name, "pairing"), "=", NONE, f"no pairing of {name}")
        for name in targets
        if paired(record, name).most
    ]
    return out


def supply_changes(record: Record, years: Iterable[int], roles: Sequence[str]) -> list[Change]:
    """What the maker could offer; `years` are those at which a rule gives more points, `roles` those of the record."""
    said, information = record.supply, record.supply.repair_information
    out: list[Change] = []
    for whom, words in (("public", "end users"), ("professional", "professionals")):
        offered = getattr(said.spare_parts, whom)
        path: Path = ("supply", "spare_parts", whom)
        if offered == EVERY:
            continue
        out.append(_change(path, "=", EVERY, f"offer every part to {words}"))
        missing = [role for role in roles if offered is not None and role not in offered]
        out += [_change(path, "+=", role, f"offer {role} to {words}") for role in missing]
    now = None if said.updates is None else said.updates.years
    out += [
        _change(("supply", "updates", "years"), "=", str(n), f"guarantee updates for {n} years")
        for n in years
        if now is None or n > now
    ]
    for key, value, words in (
        ("public", "free", "give repair information to end users free"),
        ("professional", "free", "give repair information to professionals free"),
        ("board_diagrams", "professional", "give the board diagrams to professionals"),
        ("board_diagrams", "public", "give the board diagrams to everyone"),
    ):
        if getattr(information, key) not in (value, "public" if key == "board_diagrams" else value):
            out.append(_change(("supply", "repair_information", key), "=", value, words))
    return out


def _change(path: Path, op: Op, value: str, says: str, touched: tuple[Touch, ...] | None = ()) -> Change:
    return Change(Edit(path, op, value), says, touched)


def _of_joint(record: Record, name: str, basic: Sequence[str]) -> Iterator[Change]:
    joint = record.joints[name]
    here: tuple[Touch, ...] = (("joint", name),)
    if joint.reuse != "reusable":
        yield _change(("joints", name, "reuse"), "=", "reusable", f"make {name} reusable")
    for number, way in enumerate(joint.ways):
        at: Path = ("joints", name, "ways", number)
        yield from _uncovered((*at, "under"), way.under, name, here)
        if way.prepare:
            yield _change((*at, "prepare"), "=", NONE, f"{name} without preparation", here)
        if any(record.tools[tool].tool_class != "basic" for tool in way.tools):
            for tool in basic:
                yield _change((*at, "tools"), "=", tool, f"undo {name} with {tool}", here)
    first = joint.ways[0]
    if not any(not way.tools and not way.prepare and set(way.under) <= set(first.under) for way in joint.ways):
        yield _change(("joints", name, "ways"), "+=", BY_HAND, f"a second way of undoing {name}, by hand", here)
    if first.prepare:
        for tool in basic:
            yield _change(("joints", name, "ways"), "+=", tool, f"a second way of undoing {name}, with {tool}", here)


def _of_lift(record: Record, kind: str, name: str) -> Iterator[Change]:
    path: Path = (f"{kind}s", name, "lift")
    here: tuple[Touch, ...] = ((kind, name),)  # type: ignore[assignment]
    yield from _uncovered((*path, "behind"), _lift(record, kind, name).behind, name, here)


def _uncovered(path: Path, covers: Sequence[Sequence[str]], name: str, here: tuple[Touch, ...]) -> Iterator[Change]:
    word = "behind" if path[-1] == "behind" else "under"
    for part in dict.fromkeys(part for clause in covers for part in clause):
        says = f"{name} no longer {word} {part}"
        yield _change(path, "-=", part, says, here)
    parts = list(dict.fromkeys(clause[0] for clause in covers))
    if len(parts) > 1:
        yield _change(path, "=", NONE, f"{name} {word} nothing", here)


def _of_tool(record: Record, tool: str, joints: Sequence[str]) -> Iterator[Change]:
    now = record.tools[tool].tool_class
    better = CLASSES[: len(CLASSES) - 1 if now is None else CLASSES.index(now)]
    users: tuple[Touch, ...] = tuple(
        ("joint", name) for name in joints if any(tool in way.tools for way in record.joints[name].ways)
    )
    for one in better:
        yield _change(("tools", tool, "class"), "=", one, f"{tool} as a {one} tool", users if one == "basic" else ())


def _tools_used(record: Record, joints: Sequence[str], lifts: Sequence[tuple[str, str]]) -> Iterator[str]:
    for name in joints:
        for way in record.joints[name].ways:
            yield from way.tools
            for preparation in way.prepare:
                yield from preparation.tools
    for kind, name in lifts:
        yield from _lift(record, kind, name).tools


def _lift(record: Record, kind: str, name: str) -> Lift:
    if kind == "part":
        return lift_of(record.parts[name])
    return record.bundles[name].lift if kind == "bundle" else record.swings[name].lift
