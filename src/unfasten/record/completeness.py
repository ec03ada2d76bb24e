"""What a valid record leaves open that routes or scores will ask for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, get_args

from unfasten.record.fold import lift_of
from unfasten.record.joint import Way
from unfasten.record.log import Lifted, Released, Swung
from unfasten.record.part import Lift, Role
from unfasten.record.place import Remark
from unfasten.record.record import Record

#: roles that every product of a covered category is expected to have; the hinge only where it folds
EXPECTED_ROLES: Final = tuple(role for role in get_args(Role) if role not in ("hinge", "other"))


def completeness_remarks(record: Record) -> Iterator[Remark]:
    """Yield a remark for each thing that is not said."""
    yield from _roles(record)
    yield from _tool_classes(record)
    yield from _reuse(record)
    yield from _unheld(record)
    yield from _unused_tools(record)
    yield from _surveys(record)


def _roles(record: Record) -> Iterator[Remark]:
    category = record.product.category
    if category == "other":
        return
    expected = [*EXPECTED_ROLES, *(["hinge"] if category.startswith("foldable") else [])]
    present = {part.role for part in record.parts.values()}
    for role in expected:
        if role not in present:
            mend = f"write 'role: {role}' at its part, if the product has one"
            yield Remark(("parts",), "record.role-missing", f"no part has the role {role}", mend)


def _tool_classes(record: Record) -> Iterator[Remark]:
    for name, tool in record.tools.items():
        if tool.tool_class is None:
            mend = "write 'class: basic', with-part, with-product, commercial or proprietary"
            yield Remark(("tools", name), "record.tool-class-unknown", "the class of this tool is not known", mend)


def _reuse(record: Record) -> Iterator[Remark]:
    for name, joint in record.joints.items():
        if joint.reuse is None:
            mend = "write 'reuse: reusable', resupplied, removable or none"
            message = "whether this joint can be used again is not known"
            yield Remark(("joints", name), "record.reuse-unknown", message, mend)


def _unheld(record: Record) -> Iterator[Remark]:
    held = {part for joint in record.joints.values() for part in joint.holds}
    for name, part in record.parts.items():
        if name not in held and not part.stays:
            mend = "name it in the 'holds' of its joints, if it has any"
            yield Remark(("parts", name), "record.part-unheld", "no joint holds this part: it lifts freely", mend)


def _lifts(record: Record) -> Iterator[Lift]:
    yield from (lift_of(part) for part in record.parts.values())
    yield from (bundle.lift for bundle in record.bundles.values())
    yield from (swing.lift for swing in record.swings.values())


def _unused_tools(record: Record) -> Iterator[Remark]:
    ways = [way for joint in record.joints.values() for way in joint.ways]
    used = {tool for way in ways for tool in way.tools}
    used |= {tool for way in ways for preparation in way.prepare for tool in preparation.tools}
    used |= {tool for lift in _lifts(record) for tool in lift.tools}
    for name in record.tools:
        if name not in used:
            yield Remark(
                ("tools", name), "record.tool-unused", "nothing uses this tool", "delete it, or name it in a way"
            )


def _surveys(record: Record) -> Iterator[Remark]:
    """Say which partial surveys have no unknown covers, because the log never came there."""
    moves = [entry for entry in record.log if isinstance(entry, Released | Lifted | Swung)]
    released = {entry.joint for entry in moves if isinstance(entry, Released)}
    parts = {entry.part for entry in moves if isinstance(entry, Lifted)}
    bundles = {entry.bundle for entry in moves if isinstance(entry, Lifted)}
    missed = [("joints", n) for n, j in record.joints.items() if n not in released and _partial(record, *j.ways)]
    missed += [
        ("parts", name)
        for name, part in record.parts.items()
        if name not in parts and not part.stays and _partial(record, lift_of(part))
    ]
    missed += [("bundles", n) for n, b in record.bundles.items() if n not in bundles and _partial(record, b.lift)]
    if missed and not moves:
        message = f"the log undoes nothing, so {len(missed)} partial surveys have no unknown covers"
        yield Remark(("log",), "record.survey-not-reached", message, "enter what was undone, in order")
        return
    for path in missed:
        message = "its survey is partial, but the log never reached it: no unknown covers are counted"
        yield Remark(path, "record.survey-not-reached", message, "enter its release or lift in the log, or complete it")


def _partial(record: Record, *surveyed: Way | Lift) -> bool:
    return any((one.survey or record.setup.survey) == "partial" for one in surveyed)
