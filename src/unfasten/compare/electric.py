"""Criteria of connection: connector, its place, cable reach, label values, and whether the software takes the part."""

from __future__ import annotations

from math import hypot

from unfasten.compare.allowance import allowance, gross
from unfasten.compare.conform import Rule, decide_radial
from unfasten.compare.criterion import Condition, Criterion, Verdict, judged, not_applicable
from unfasten.compare.holes import fit_holes
from unfasten.compare.measured import combined
from unfasten.compare.place import Exchange
from unfasten.record.part import Battery
from unfasten.record.swaptest import State


def connector(pair: Exchange, rule: Rule) -> Criterion:
    """The same kind of connector."""
    old, new = (cable.connector for cable in pair.cables)
    if old is None and new is None and not _plugged(pair):
        return not_applicable("connector", "the part has none")
    if old is None or new is None:
        return Criterion("connector", "open", "not recorded of both", evidence=pair.at("cable.connector"),
                         measure="note the kind of connector of both parts")  # fmt: skip
    same = old.casefold().split() == new.casefold().split()
    said = old if same else f"{new} for {old}"
    return Criterion("connector", "shown" if same else "against", said, evidence=pair.at("cable.connector"))


def _plugged(pair: Exchange) -> bool:
    return any(joint.kind == "connector" for joints in pair.joints for joint in joints)


def connector_place(pair: Exchange, rule: Rule) -> Criterion:
    """A connector without a cable sits where its partner is, the parts laid on one another by their holes."""
    old, new = pair.cables
    if old.connector is None and new.connector is None and not _plugged(pair):
        return not_applicable("connector place", "the part has no connector")
    if old.length is not None and new.length is not None:
        return not_applicable("connector place", "it hangs on a cable: see its reach")
    if old.at is None or new.at is None:
        return Criterion("connector place", "open", "not recorded of both", evidence=pair.at("cable.at"),
                         measure="measure where the connector sits, from the holes or edges of the part")  # fmt: skip
    from numpy import array

    spot = array([[float(axis.si) for axis in old.at]])
    fit = fit_holes(pair.old.holes, pair.new.holes)
    if fit is not None and fit.same:
        spot = fit.motion.of(spot)
    gap = hypot(*(float(value) for value in array([float(axis.si) for axis in new.at]) - spot[0]))
    us = [axis.u_si for axis in (*old.at, *new.at)]
    limit = allowance("fit.connector-place")
    said = f"{gap:.2f} mm away, {limit:g} mm allowed"
    if any(u is None for u in us):
        return Criterion("connector place", "open", f"{said}; uncertainty not assessed", evidence=pair.at("cable.at"),
                         measure="measure where the connector sits, with uncertainty")  # fmt: skip
    u = (sum(float(one) ** 2 for one in us if one is not None) / 2) ** 0.5
    verdict, probability = decide_radial(gap, u, limit, rule)
    measure = "measure where the connector sits, with less uncertainty" if verdict == "open" else None
    return Criterion("connector place", verdict, said, probability, evidence=pair.at("cable.at"), measure=measure)


def cable_reach(pair: Exchange, rule: Rule) -> Criterion:
    """The cable of the new part is at least as long as the place needs, and not so long that it must be laid away.

    The needed length is the limit of the requirement; where it has an uncertainty, that counts as well.
    """
    old, new = pair.cables
    if new.length is None and old.length is None and old.needed is None:
        return not_applicable("cable reach", "the part has no cable of its own")
    at = (pair.at("cable.needed")[0], pair.at("cable.length")[1])
    if new.length is None or old.needed is None:
        missing = "length of the cable" if new.length is None else "length needed in the place"
        return Criterion(
            "cable reach", "open", f"{missing} not recorded", evidence=at, measure=f"measure the {missing}"
        )
    spare = new.length.si - old.needed.si
    u = new.length.u_si if old.needed.u is None else combined(new.length.u_si, old.needed.u_si)
    said = f"{new.length} for {old.needed} needed: {spare:+f} mm"
    verdict, probability = judged(Condition(float(spare), None if u is None else float(u), 0.0), rule)
    if verdict == "shown" and float(spare) > allowance("fit.cable-excess"):
        return Criterion("cable reach", "change", f"{said}, to be laid away", probability, evidence=at)
    if u is None:
        said += "; uncertainty not assessed"
        most = gross(float(old.needed.si))
        if float(spare) < -most:
            return Criterion("cable reach", "against", f"{said}, but no reading errs by {most:.3g} mm", evidence=at)
    word = "less uncertainty" if u is not None else "uncertainty"
    measure = f"measure the length of the cable and the way it has to go, with {word}"
    return Criterion("cable reach", verdict, said, probability, evidence=at,
                     measure=measure if verdict == "open" else None)  # fmt: skip


def label(pair: Exchange, rule: Rule) -> Criterion:
    """A battery has as many cells in series and may be charged as high as the device charges it."""
    old, new = pair.old.battery, pair.new.battery
    if old is None and new is None:
        return not_applicable("electrical label", "the part has no battery")
    if old is None or new is None:
        return Criterion("electrical label", "open", "label not recorded of both", evidence=pair.at("battery"),
                         measure="read the label of both batteries")  # fmt: skip
    verdict, said = _cells(old, new)
    measure = "read cells in series and charge voltage on both labels" if verdict == "open" else None
    return Criterion("electrical label", verdict, said, evidence=pair.at("battery"), measure=measure)


def _cells(old: Battery, new: Battery) -> tuple[Verdict, str]:
    if old.cells_in_series is None or new.cells_in_series is None:
        return "open", "cells in series not recorded"
    if old.cells_in_series != new.cells_in_series:
        return "against", f"{new.cells_in_series} cells in series for {old.cells_in_series}"
    if old.charge_voltage is None or new.charge_voltage is None:
        return "open", "charge voltage not recorded"
    said = f"charge voltage {new.charge_voltage} for {old.charge_voltage}"
    if new.charge_voltage.si < old.charge_voltage.si:
        return "against", f"{said}: the device would charge it too high"
    if new.charge_voltage.si > old.charge_voltage.si:
        return "change", f"{said}: it would not be charged in full"
    return "shown", said


_ACCEPTED: dict[State, Verdict] = {
    "accepted": "shown", "after-pairing": "change", "limited": "change", "refused": "against",
    "does-not-fit": "open", "not-powered": "open", "untested": "open",
}  # fmt: skip


def software(pair: Exchange, rule: Rule) -> Criterion:
    """The device takes the part, as swap tests of this exchange show; the worst of the tests with the last software."""
    if not pair.is_electric:
        return not_applicable("software", "the device cannot notice the part")
    powered = {name: test for name, test in pair.tests.items() if test.accepted is not None}
    if not powered:
        return Criterion("software", "open", "no swap test of this exchange",
                         measure="put the part in, switch on, note functions and messages")  # fmt: skip
    name, test = list(powered.items())[-1]
    more = ", ".join([*test.lost, *test.messages, *(f"asked for {one}" for one in test.asked)])
    said = f"{test.state.replace('-', ' ')} with software {test.software or 'not stated'}" + (
        f": {more}" if more else ""
    )
    return Criterion("software", _ACCEPTED[test.state], said, by_test=name,
                     evidence=(f"{pair.host.product.id}: swap_tests.{name}",))  # fmt: skip
