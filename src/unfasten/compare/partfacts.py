"""What differs in a part that both records have: hazards, pairing, cable, holes, battery, size, mass, markings."""

from __future__ import annotations

from collections.abc import Iterator

from unfasten.compare.build import both, difference, worse
from unfasten.compare.difference import Difference, Effect, Evidence, Side
from unfasten.compare.holes import Fit, fit_holes
from unfasten.compare.measured import Change, change_of, combined
from unfasten.compare.sides import Pair
from unfasten.evidence.quantity import Quantity
from unfasten.record.paired import Paired, paired
from unfasten.record.part import Cable, Part

NOT_STATED = "not stated"
#: fields of a battery's label that are marked, not measured: they differ or not
_LABEL = ("nominal_voltage", "charge_voltage", "rated_capacity", "marked_energy", "cells_in_series", "designation",
          "enclosure", "condition")  # fmt: skip


def part_differences(pair: Pair) -> Iterator[Difference]:
    """Differences of every part that both records have."""
    for common in pair.shared:
        yield from _Two(pair, common).differences()


class _Two:
    """One part in both records."""

    def __init__(self, pair: Pair, common: str) -> None:
        self.pair = pair
        self.common = common
        self.ids = (pair.before.ids[common], pair.after.ids[common])
        self.a: Part = pair.before.record.parts[self.ids[0]]
        self.b: Part = pair.after.record.parts[self.ids[1]]

    def at(self, key: str) -> tuple[str, str]:
        """Place of a key on either side."""
        return f"parts.{self.ids[0]}.{key}", f"parts.{self.ids[1]}.{key}"

    def differences(self) -> Iterator[Difference]:
        """All of them."""
        yield from self._sets()
        yield from self._texts()
        yield from self._cable()
        yield from self._holes()
        yield from self._battery()
        yield from self._sizes("size", self.a.size, self.b.size)
        yield from self._quantity("mass", self.a.mass, self.b.mass)
        yield from self._components()

    def _sets(self) -> Iterator[Difference]:
        a, b = sorted(set(self.a.hazards)), sorted(set(self.b.hazards))
        if a != b:
            texts = (", ".join(a) or "none", ", ".join(b) or "none")
            yield self._make("hazard", "hazards", texts, worse(len(a), len(b)))
        yield from self._pairing()

    def _pairing(self) -> Iterator[Difference]:
        """By the records and their swap tests; none where what is open on one side may be what the other needs."""
        one, other = (
            paired(side.record, name) for side, name in zip((self.pair.before, self.pair.after), self.ids, strict=True)
        )
        if {*one.least, *other.least} <= set(one.most) & set(other.most):
            return
        sides: tuple[tuple[Side, Paired], ...] = (("before", one), ("after", other))
        shown = [
            Evidence(side, f"swap_tests.{test}", found.why, "record") for side, found in sides for test in found.tests
        ]
        evidence = [*both(self.at("pairing"), (_needs(one), _needs(other)), measured=False), *shown]
        effect = worse(len(one.least), len(other.least))
        yield self._make("paired", "pairing", (_needs(one), _needs(other)), effect, evidence=evidence)

    def _texts(self) -> Iterator[Difference]:
        if self.a.role != self.b.role:
            yield self._make("changed", "role", (self.a.role or "none", self.b.role or "none"))
        if self.a.name != self.b.name:
            yield self._make("changed", "name", (self.a.name, self.b.name))
        if self.a.marking is not None and self.b.marking is not None and self.a.marking != self.b.marking:
            yield self._make("changed", "marking", (self.a.marking, self.b.marking))

    def _cable(self) -> Iterator[Difference]:
        a, b = self.a.cable or Cable(), self.b.cable or Cable()
        if a.connector is not None and b.connector is not None and a.connector != b.connector:
            yield self._make("changed", "cable.connector", (a.connector, b.connector))
        spare = (_spare(a), _spare(b))
        note = "" if None in spare else f"spare length {_plain(spare[0])} before, {_plain(spare[1])} after"
        effect: Effect = "neither"
        if spare[0] is not None and spare[1] is not None and change_of(spare[0], spare[1]).beyond != "within":
            effect = worse(-float(spare[0].si), -float(spare[1].si))
        yield from self._quantity("cable.length", a.length, b.length, effect, note)
        yield from self._quantity("cable.needed", a.needed, b.needed)

    def _holes(self) -> Iterator[Difference]:
        fit = fit_holes(self.a.holes, self.b.holes)
        if fit is None:
            return
        if not fit.is_whole:
            yield self._make("changed", "holes", _pattern_words(self.a, self.b, fit), note=hole_words(fit))
        elif abs(fit.motion.turned) > TURNED:
            note = f"the same pattern, turned by {abs(fit.motion.turned):.1f}°" if fit.poses == 1 else ""
            if note:
                yield self._make("changed", "holes.turned", (_listed(self.a), _listed(self.b)), note=note)
        if fit.same:
            yield from self._diameters(fit)

    def _diameters(self, fit: Fit) -> Iterator[Difference]:
        found: dict[tuple[str, str], list[tuple[int, int, Change]]] = {}
        for i, j in fit.pairs:
            one, other = self.a.holes[i].diameter, self.b.holes[j].diameter
            if one is not None and other is not None and one.si != other.si:
                change = change_of(one, other)
                if change.beyond != "within":
                    found.setdefault((str(one), str(other)), []).append((i, j, change))
        for texts, holes in sorted(found.items()):
            note = "holes " + ", ".join(str(i + 1) for i, _, _ in holes)
            evidence = [
                item
                for i, j, _ in holes
                for item in both((self.at(f"holes[{i}]")[0], self.at(f"holes[{j}]")[1]), texts, measured=True)
            ]
            yield self._make("changed", "holes.diameter", texts, note=note, measured=holes[0][2], evidence=evidence)
        tapped = [(i, j) for i, j in fit.pairs if self.a.holes[i].thread != self.b.holes[j].thread]
        for i, j in tapped:
            texts = (self.a.holes[i].thread or "not tapped", self.b.holes[j].thread or "not tapped")
            yield self._make("changed", "holes.thread", texts, note=f"hole {i + 1}")

    def _battery(self) -> Iterator[Difference]:
        a, b = self.a.battery, self.b.battery
        if a is None or b is None:
            return
        for key in _LABEL:
            one, other = getattr(a, key), getattr(b, key)
            if one is not None and other is not None and str(one) != str(other):
                measured = change_of(one, other) if isinstance(one, Quantity) and one.u is not None else None
                if measured is None or measured.beyond != "within":
                    yield self._make("changed", f"battery.{key}", (str(one), str(other)), measured=measured)
        yield from self._sizes("battery.size", a.size, b.size)

    def _sizes(
        self, key: str, one: tuple[Quantity, ...] | None, other: tuple[Quantity, ...] | None
    ) -> Iterator[Difference]:
        if one is None or other is None:
            return
        changes = [change_of(x, y) for x, y in zip(one, other, strict=True)]
        moved = [change for change in changes if change.delta and change.beyond != "within"]
        if moved:
            largest = max(moved, key=lambda change: change.ratio)
            texts = (" × ".join(map(str, one)), " × ".join(map(str, other)))
            if sorted(edge.si for edge in one) == sorted(edge.si for edge in other):
                yield self._make("changed", key, texts, note="the same edges, the part lies turned")
            else:
                yield self._make("changed", key, texts, measured=largest)

    def _quantity(
        self, key: str, one: Quantity | None, other: Quantity | None, effect: Effect = "neither", note: str = ""
    ) -> Iterator[Difference]:
        if one is None or other is None or one.si == other.si:
            return
        change = change_of(one, other)
        if change.beyond != "within":
            yield self._make("changed", key, (str(one), str(other)), effect, note=note, measured=change)

    def _components(self) -> Iterator[Difference]:
        a = sorted(f"{one.function}: {one.marking or NOT_STATED}" for one in self.a.components)
        b = sorted(f"{one.function}: {one.marking or NOT_STATED}" for one in self.b.components)
        if a and b and a != b:
            gone, come = [one for one in a if one not in b], [one for one in b if one not in a]
            yield self._make("changed", "components", ("; ".join(gone) or "none", "; ".join(come) or "none"))

    def _make(
        self,
        kind: str,
        what: str,
        texts: tuple[str, str],
        effect: Effect = "neither",
        *,
        note: str = "",
        measured: Change | None = None,
        evidence: list[Evidence] | None = None,
    ) -> Difference:
        found = both(self.at(what.split("[")[0]), texts, measured=measured is not None)
        return difference(
            kind,  # type: ignore[arg-type]
            what,
            self.ids,
            texts,
            effect=effect,
            owners=[self.common],
            measured=measured,
            evidence=evidence or found,
            note=note,
        )


#: [degree] a pattern turned by less lies as before
TURNED = 1.0


def _spare(cable: Cable) -> Quantity | None:
    """Length less what is needed, which counts as a limit: its uncertainty is that of the length unless it has one."""
    if cable.length is None or cable.needed is None:
        return None
    u = cable.length.u_si if cable.needed.u is None else combined(cable.length.u_si, cable.needed.u_si)
    return Quantity(cable.length.si - cable.needed.si, "mm", u)


def _needs(found: Paired) -> str:
    least = ", ".join(found.least) or "none"
    return least if found.is_known else f"{least} to {', '.join(found.most)}"


def _plain(quantity: Quantity | None) -> str:
    return "" if quantity is None else f"{quantity.value:f} {quantity.unit}"


def _pattern_words(a: Part, b: Part, fit: Fit) -> tuple[str, str]:
    if fit.odd:
        first = "; ".join(_at(a, out.first) for out in fit.odd)
        second = "; ".join(_at(b, out.second) for out in fit.odd)
        if first != second:
            return first, second
    return _listed(a), _listed(b)


def _listed(part: Part) -> str:
    """All holes of a part with their places, of very many only the first."""
    most = 6
    places = [f"({x.value:f}, {y.value:f})" for x, y in (hole.at for hole in part.holes[:most])]
    return f"{len(part.holes)} holes at {', '.join(places)}{', …' if len(part.holes) > most else ''} mm"


def _at(part: Part, number: int) -> str:
    x, y = part.holes[number].at
    return f"hole {number + 1} at {x.value:f}, {y.value:f} {x.unit}"


def hole_words(fit: Fit) -> str:
    """What the fit of two hole patterns says, in one or two sentences; the same words from either side."""
    if not fit.same:
        said = "the patterns have no pose in which half of the holes are in place"
        return said + ("; the one is the mirror image of the other" if fit.mirrored else "")
    parts = [f"hole {out.first + 1} out of place by {out.distance:.2f} mm" for out in fit.odd]
    if fit.doubtful:
        holes = ", ".join(str(number + 1) for number in fit.doubtful)
        parts.append(f"as well it could be hole {holes}: the pattern is symmetric")
    alone = fit.only_first or fit.only_second
    if alone:
        holes = f"hole{'' if len(alone) == 1 else 's'} {', '.join(str(number + 1) for number in alone)}"
        parts.append(f"{holes} of the {len(fit.pairs) + len(alone)} without a partner")
    if fit.mirrored:
        parts.append("the one is the mirror image of the other")
    return "; ".join(parts)
