"""Criteria of shape: envelope, mass, hole pattern, hole sizes and threads, how the part is fastened."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from unfasten.compare.allowance import allowance, general_tolerance, gross
from unfasten.compare.conform import Rule, decide_radial
from unfasten.compare.criterion import Condition, Criterion, Verdict, judged, not_applicable
from unfasten.compare.holes import MOST, Fit, fit_holes
from unfasten.compare.measured import combined
from unfasten.compare.partfacts import hole_words
from unfasten.compare.place import Exchange
from unfasten.evidence.quantity import Quantity
from unfasten.record.part import Part


def envelope(pair: Exchange, rule: Rule) -> Criterion:
    """Edges from the longest down differ by no more than the general tolerance; a larger part does not go in."""
    old, new = _size_of(pair.old), _size_of(pair.new)
    if old is None or new is None:
        return _not_recorded("envelope", pair, "size", "measure length, width and height, with uncertainty")
    edges = list(zip(_edges(old), _edges(new), strict=True))
    found = [_edge(one, other, rule) for one, other in edges]
    verdict, probability, worst = min(found, key=lambda item: (_WORST[item[0]], item[1] or 0.0))
    sure = None if any(p is None for _, p, _ in found) else max(0.0, 1 - sum(1 - (p or 0.0) for _, p, _ in found))
    if verdict == "shown" and rule.kind == "probability" and sure is not None and sure < rule.limit:
        verdict = "open"
    measure = "measure the edges of both parts with uncertainty" if verdict == "open" else None
    return Criterion("envelope", verdict, worst, sure if sure is not None else probability, probability,
                     pair.at("size"), measure)  # fmt: skip


def _size_of(part: Part) -> tuple[Quantity, Quantity, Quantity] | None:
    """Size of a part; of a battery, that of its label stands in."""
    return part.size or (part.battery.size if part.battery else None)


_WORST: dict[Verdict, int] = {"against": 0, "open": 1, "change": 2, "shown": 3}


def _edges(size: Sequence[Quantity]) -> list[Quantity]:
    return sorted(size, key=lambda edge: edge.si, reverse=True)


def _edge(old: Quantity, new: Quantity, rule: Rule) -> tuple[Verdict, float | None, str]:
    delta = new.si - old.si
    limit = general_tolerance(float(old.si))
    u = combined(old.u_si, new.u_si)
    said = f"{new} for {old}: {delta:+f} mm, ± {limit:g} mm allowed (ISO 2768-1 m)"
    if u is None:
        most = gross(float(old.si))
        if abs(float(delta)) <= limit + most:
            return "open", None, f"{said}; uncertainty not assessed"
        said += f"; uncertainty not assessed, but no reading errs by {most:.3g} mm"
        return ("change", None, f"{said}: smaller, so it needs a seat") if delta < 0 else ("against", None, said)
    verdict, probability = judged(Condition(float(delta), float(u), -limit, limit), rule)
    if verdict == "against" and delta < 0:
        return "change", probability, f"{said}: smaller, so it needs a seat"
    return verdict, probability, said


def mass(pair: Exchange, rule: Rule) -> Criterion:
    """Mass within a share of the original. It only informs: a part of other mass is of another make and may yet fit."""
    old, new = pair.old.mass, pair.new.mass
    if old is None or new is None:
        return not_applicable("mass", "not recorded of both")
    u = combined(old.u_si, new.u_si)
    limit = allowance("fit.mass-share") * float(old.si)
    condition = Condition(float(new.si - old.si), None if u is None else float(u), -limit, limit)
    verdict, probability = judged(condition, rule)
    said = f"{new} for {old}, ± {limit:.2g} g make no difference"
    if verdict == "against":
        verdict, said = "change", f"{said}: of another make"
    return Criterion("mass", verdict, said, probability, evidence=pair.at("mass"), informs=True)


def pattern(pair: Exchange, rule: Rule) -> Criterion:
    """Every hole of the new part lies over its screw: rigid best fit, the least greatest distance against the play."""
    old, new = pair.old.holes, pair.new.holes
    screwed = any(joint.kind == "screw" for joint in pair.joints[0])
    if not old and not screwed:
        return not_applicable("hole pattern", "no screws hold the part")
    if max(len(old), len(new)) > MOST:
        said = f"more than {MOST} holes are not matched"
        return Criterion("hole pattern", "open", said, evidence=pair.at("holes"), measure="list the fixing holes only")
    fit = fit_holes(old, new)
    if fit is None:
        return _not_recorded("hole pattern", pair, "holes", "measure the places of the fixing holes, with uncertainty")
    words = hole_words(fit)
    if fit.u is None:
        said = words or "all holes in place as recorded"
        return Criterion("hole pattern", "open", f"{said}; uncertainty not assessed", evidence=pair.at("holes"),
                         measure="measure the places of the fixing holes, with uncertainty")  # fmt: skip
    decided = [decide_radial(gap, fit.u, _play(pair, j), rule) for gap, (_, j) in zip(fit.gaps, fit.pairs, strict=True)]
    found = [probability for _, probability in decided]
    low, high = max(0.0, 1 - sum(1 - one for one in found)), min(found)
    verdict: Verdict = rule.decide(low, high)
    if rule.kind == "guard-band":
        verdict = min((one for one, _ in decided), key=_WORST.__getitem__)
    if verdict == "shown" and fit.only_first:
        verdict = "change"
    worst = found.index(high)
    gap, (i, j) = fit.gaps[worst], fit.pairs[worst]
    said = f"at best hole {i + 1} is {gap:.2f} mm off its screw, {_play(pair, j):.2f} mm of play"
    said += f"; {words}" if words else ""
    said += _pose_words(fit)
    measure = "measure the holes again, with less uncertainty" if verdict == "open" else None
    return Criterion("hole pattern", verdict, said, low, high, pair.at("holes"), measure)


def _play(pair: Exchange, hole: int) -> float:
    """How far a hole of the new part may be off its screw [mm]: half of hole less screw, where both are known."""
    diameter = pair.new.holes[hole].diameter
    if pair.screw is None or diameter is None or float(diameter.si) <= pair.screw:
        return allowance("fit.hole-place")
    return (float(diameter.si) - pair.screw) / 2


def _pose_words(fit: Fit) -> str:
    if fit.is_line:
        return "; the holes lie on one line, so they do not tell a part from its mirror image"
    if fit.poses > 1:
        return f"; the pattern is symmetric and lies on the other in {fit.poses} ways"
    turned = round(fit.motion.turned)
    said = f"; turned by {turned}°" if fit.same and turned else ""
    other = [f"{i + 1} = {j + 1}" for i, j in fit.pairs if i != j] if fit.same else []
    return said + (f"; holes numbered otherwise: {', '.join(other)}" if other else "")


def hole_sizes(pair: Exchange, rule: Rule) -> Criterion:
    """The screws of the place pass the holes, and their heads still bear; tapped holes have the same thread."""
    fit = fit_holes(pair.old.holes, pair.new.holes)
    if fit is None or not fit.same:
        return not_applicable("hole sizes", "no holes that answer to one another")
    tapped = [(pair.old.holes[i].thread, pair.new.holes[j].thread, i) for i, j in fit.pairs]
    other = [(one, two, i) for one, two, i in tapped if one != two]
    if other:
        one, two, i = other[0]
        said = f"hole {i + 1}: thread {two or 'none'} for {one or 'none'}"
        return Criterion("hole sizes", "change", said, evidence=pair.at("holes"))
    found = [_hole_size(pair, i, j, rule) for i, j in fit.pairs]
    return min(found, key=lambda one: one.rank)


def _hole_size(pair: Exchange, i: int, j: int, rule: Rule) -> Criterion:
    old, new = pair.old.holes[i].diameter, pair.new.holes[j].diameter
    at = (pair.at(f"holes[{i}]")[0], pair.at(f"holes[{j}]")[1])
    if old is None or new is None:
        return Criterion("hole sizes", "open", f"hole {i + 1}: diameter not recorded", evidence=at,
                         measure="measure the diameters of the fixing holes")  # fmt: skip
    low = float(old.si) if pair.screw is None else pair.screw
    high = float(old.si) + allowance("fit.hole-wider")
    against = f"screw M{pair.screw:g}" if pair.screw is not None else "hole before"
    said = f"hole {i + 1}: {new} for {old}, {against}"
    if pair.screw is None:
        low -= allowance("fit.hole-place")
    u = new.u_si
    verdict, probability = judged(Condition(float(new.si), None if u is None else float(u), low, high), rule)
    if verdict == "against":
        return Criterion("hole sizes", "change", f"{said}: takes another screw", probability, evidence=at)
    measure = "measure the diameters of the fixing holes, with uncertainty" if verdict == "open" else None
    return Criterion("hole sizes", verdict, said, probability, evidence=at, measure=measure)


def fastening(pair: Exchange, rule: Rule) -> Criterion:
    """The new part is held by the same kinds of joints as the old one, connectors aside."""
    kinds = [Counter(j.kind for j in joints if j.kind != "connector") for joints in pair.joints]
    words = [", ".join(sorted(set(one))) or "nothing" for one in kinds]
    if set(kinds[0]) == set(kinds[1]):
        return Criterion("fastening", "shown", f"held by {words[0]}", evidence=(f"{pair.host.product.id}: joints",))
    said = f"made to be held by {words[1]}, the place offers {words[0]}"
    return Criterion("fastening", "change", said, evidence=(f"{pair.host.product.id}: joints",))


def _not_recorded(name: str, pair: Exchange, key: str, measure: str) -> Criterion:
    missing = [
        record.product.name
        for record, part in ((pair.host, pair.old), (pair.source, pair.new))
        if not getattr(part, key)
    ]
    who = " and ".join(dict.fromkeys(missing))
    return Criterion(name, "open", f"not recorded of the part of the {who}", evidence=pair.at(key), measure=measure)
