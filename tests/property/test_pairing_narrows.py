"""Swap tests of one device never widen what is known of its pairing, and never lose sight of what is true.

A device is made up with a pairing that it truly needs; tests are drawn that such a device can give. However many there
are and in whatever order they stand, the pairing found spans the true one, and one more test never makes it wider.
"""

from __future__ import annotations

import itertools
from datetime import date
from typing import Any, cast

from hypothesis import given, settings
from hypothesis import strategies as st

from support.random_record import random_tree
from unfasten.record.fold import fold_log
from unfasten.record.paired import EVERY, ORDER, Paired, paired
from unfasten.record.part import Part
from unfasten.record.record import Record
from unfasten.record.swaptest import SwapTest
from unfasten.routes.keep import Keeper
from unfasten.routes.pairing import additions
from unfasten.routes.solve import solve, solve_both
from unfasten.service.assess import assess_record
from unfasten.service.swap import swap_family

DAY = date(2026, 6, 1)
kinds = st.sampled_from([(), ("notification",), ("authorisation",), ORDER])


@st.composite
def outcomes(draw: st.DrawFn, needed: tuple[str, ...], names: tuple[str, ...] = ("p1",)) -> dict[str, Any]:
    """A test that a device which needs just this pairing can give; without power, of a sibling, or faulty too."""
    asked = draw(st.lists(st.sampled_from(needed), unique=True)) if needed else []
    worked = set(asked) == set(needed) and draw(st.booleans())
    out: dict[str, Any] = {
        "part": draw(st.sampled_from(names)),
        "donor": {"source": draw(st.sampled_from(["same-model", "same-model", "same-model", "sibling"]))},
        "accepted": "full" if worked else draw(st.sampled_from(["limited", "refused"])),
        "asked": asked,
        "software": "1",
    }
    if draw(st.booleans()):
        out["on"] = f"2026-03-0{draw(st.integers(1, 9))}"
    if worked and not asked and draw(st.booleans()):
        out["messages"] = ["another part was found"]
    return out if draw(st.integers(0, 5)) else {key: out[key] for key in ("part", "donor")}


def product(tests: list[dict[str, Any]], lists: tuple[str, ...] = ()) -> Record:
    parts = {"frame": Part(name="Frame", stays=True), "p1": Part.model_validate({"name": "P", "pairing": lists})}
    tree = {
        "format": "unfasten-record/1",
        "product": {"id": "tarn-11", "name": "Tarn 11", "maker": "Fellwright", "category": "slate-tablet"},
        "parts": parts,
        "joints": {"plug": {"kind": "connector", "holds": ["p1", "frame"], "ways": [{}]}},
        "swap_tests": {f"t{number}": SwapTest.model_validate(test) for number, test in enumerate(tests)},
    }
    return Record.model_validate(tree)


def inside(inner: Paired, outer: Paired) -> bool:
    return {*outer.least} <= {*inner.least} and {*inner.most} <= {*outer.most}


@settings(max_examples=150, deadline=None)
@given(st.data(), kinds)
def test_a_truthful_test_never_widens_the_pairing(data: st.DataObject, needed: tuple[str, ...]) -> None:
    tests = data.draw(st.lists(outcomes(needed), max_size=5))
    before = None
    for count in range(len(tests) + 1):
        found = paired(product(tests[:count]), "p1")
        if found.tests:
            assert {*found.least} <= {*needed} <= {*found.most}
            assert found.basis in ("tested", "open")
            assert before is None or inside(found, before)
            before = found
    later = data.draw(st.permutations(tests))
    again = paired(product(list(later)), "p1")
    first = paired(product(tests), "p1")
    assert (again.least, again.most, again.basis) == (first.least, first.most, first.basis)


@settings(max_examples=150, deadline=None)
@given(st.data(), kinds)
def test_a_truthful_listing_is_never_contradicted_nor_widened(data: st.DataObject, needed: tuple[str, ...]) -> None:
    tests = data.draw(st.lists(outcomes(needed), max_size=4))
    found = paired(product(tests, needed), "p1")
    assert found.agrees is not False
    if needed or found.basis in ("listed", "tested"):
        assert (set(found.least), set(found.most)) == ({*needed}, {*needed})


@settings(max_examples=150, deadline=None)
@given(st.data(), kinds, kinds)
def test_whatever_is_said_the_pairing_is_a_span(data: st.DataObject, needed: tuple[str, ...], lists: Any) -> None:
    tests = data.draw(st.lists(st.one_of(outcomes(needed), outcomes(ORDER), outcomes(())), max_size=4))
    record = product(tests, lists)
    found = paired(record, "p1")
    assert {*found.least} <= {*found.most} <= EVERY
    assert found.is_known == (found.basis in ("listed", "tested"))
    more = additions(record, ["p1"])
    assert (more.low, more.high) == (5 * len(found.least), 5 * len(found.most))


def tablet(seed: int, tests: list[dict[str, Any]]) -> Record:
    import random

    tree = random_tree(random.Random(seed), 4, 6)
    tree["product"]["category"] = "slate-tablet"
    for name, role in zip(list(tree["parts"])[1:], ("battery", "speaker", "display-assembly"), strict=False):
        tree["parts"][name]["role"] = role
        tree["joints"][f"{name}-plug"] = {"kind": "connector", "holds": [name, next(iter(tree["parts"]))], "ways": [{}]}
    tree["swap_tests"] = {f"t{number}": test for number, test in enumerate(tests)}
    return Record.model_validate(tree)


@settings(max_examples=25, deadline=None)
@given(st.data(), st.integers(0, 60), kinds)
def test_a_truthful_test_never_widens_the_open_index(data: st.DataObject, seed: int, needed: tuple[str, ...]) -> None:
    """With parts that were not tested counted as open, every test narrows the index or leaves it as it is."""
    names = tuple(tablet(seed, []).parts)[1:4]
    tests = data.draw(st.lists(outcomes(needed, names), min_size=1, max_size=3))
    spans = []
    for count in range(len(tests) + 1):
        record = tablet(seed, tests[:count])
        (matrix,) = swap_family([record], DAY).matrices
        assert matrix.opened is not None
        assert matrix.tested == assess_record(record, DAY).points
        spans.append(matrix.opened)
    for wide, narrow in itertools.pairwise(spans):
        assert wide.low <= narrow.low <= narrow.high <= wide.high


@settings(max_examples=25, deadline=None)
@given(st.data(), st.integers(0, 60), kinds)
def test_routes_that_are_kept_follow_the_swap_tests(data: st.DataObject, seed: int, needed: tuple[str, ...]) -> None:
    """A keeper that has the routes already gives the additions of the record at hand, not of the one before."""
    names = tuple(tablet(seed, []).parts)[1:4]
    tests = data.draw(st.lists(outcomes(needed, names), min_size=1, max_size=3))
    keeper = Keeper()
    for count in (0, *range(1, len(tests) + 1), 0):
        record = fold_log(tablet(seed, tests[:count]))
        assert keeper.update(record) == solve_both(record)
        assert count == 0 or keeper.searched == ()
        steps = solve(record)
        for name, reach in cast("dict[str, Any]", steps).items():
            if reach.low is not None and reach.high is not None:
                assert reach.steps_high - reach.high.steps == 5 * len(paired(record, name).most)
                assert reach.steps_low - reach.low.steps == 5 * len(paired(record, name).least)
