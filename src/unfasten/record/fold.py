"""Fold what the log found into the model: `found` entries add covers, or show that a part is clear of something."""

from __future__ import annotations

from unfasten.record.bundle import Bundle
from unfasten.record.joint import Joint, Way
from unfasten.record.log import Found
from unfasten.record.part import Lift, Part
from unfasten.record.record import Record


def fold_log(record: Record) -> Record:
    """Give the record with every `found` entry of its log added to the way (0 if not given) or lift that it names."""
    parts, joints, bundles = dict(record.parts), dict(record.joints), dict(record.bundles)
    for entry in record.log:
        if not isinstance(entry, Found):
            continue
        if entry.joint is not None:
            joints[entry.joint] = _found_at_joint(joints[entry.joint], entry)
        elif entry.part is not None:
            part = parts[entry.part]
            parts[entry.part] = part.model_copy(update={"lift": _found_at_lift(part.lift or Lift(), entry)})
        elif entry.bundle is not None:
            bundle: Bundle = bundles[entry.bundle]
            bundles[entry.bundle] = bundle.model_copy(update={"lift": _found_at_lift(bundle.lift, entry)})
    return record.model_copy(update={"parts": parts, "joints": joints, "bundles": bundles})


def lift_of(part: Part) -> Lift:
    """Give the part's lift; one without lifts by hand, side any, 0 s, behind nothing, with the default survey."""
    return part.lift or Lift()


def _found_at_joint(joint: Joint, entry: Found) -> Joint:
    number = entry.way or 0
    way: Way = joint.ways[number]
    new = way.model_copy(update={"under": way.under + entry.under, "clear_of": way.clear_of + entry.clear_of})
    return joint.model_copy(update={"ways": (*joint.ways[:number], new, *joint.ways[number + 1 :])})


def _found_at_lift(lift: Lift, entry: Found) -> Lift:
    return lift.model_copy(update={"behind": lift.behind + entry.behind, "clear_of": lift.clear_of + entry.clear_of})
