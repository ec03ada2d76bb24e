"""Verdicts on exchange: each criterion, the rule, swap tests, and what to do next."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest

from unfasten.compare.conform import Rule
from unfasten.compare.criterion import Criterion
from unfasten.compare.interchange import Interchange, interchange
from unfasten.compare.place import Exchange
from unfasten.record.read import read_record
from unfasten.record.record import FORMAT, Record

FOLDER = Path(__file__).parents[3] / "examples"
SIZE = ["10.00 ± 0.02 mm", "8.00 ± 0.02 mm", "3.00 ± 0.02 mm"]
HOLES = [[2, 2], [18, 2], [10, 12]]


@cache
def example(name: str) -> Record:
    found = read_record((FOLDER / f"{name}.yaml").read_bytes(), name).record
    assert found is not None
    return found


def between(part: str, donor: str, host: str) -> Interchange:
    return interchange(Exchange(example(host), part, example(donor), part))


def criterion(found: Interchange, name: str) -> Criterion:
    return next(one for one in found.criteria if one.name == name)


def test_the_rear_camera_fits_though_its_bracket_does_not() -> None:
    assert between("rear-camera", "tarn-9", "tarn-11").answer == "fits"
    bracket = between("rear-camera-bracket", "tarn-9", "tarn-11")
    assert bracket.answer == "does not fit"
    assert bracket.worst.name == "hole pattern"
    assert "hole 2 out of place by 0.60 mm" in bracket.worst.says


def test_the_front_camera_of_the_tarn_11_reaches_in_the_tarn_9_by_a_hair_and_not_in_the_plus() -> None:
    """38.5 ± 0.3 mm for 38.0 mm needed: Phi(0.5 / 0.3) = 95.2 %."""
    reach = criterion(between("front-camera", "tarn-11", "tarn-9"), "cable reach")
    assert reach.verdict == "shown"
    assert reach.probability == pytest.approx(0.9522, abs=1e-4)
    assert between("front-camera", "tarn-11", "tarn-11-plus").answer == "does not fit"


def test_a_rule_that_asks_more_leaves_the_same_cable_open() -> None:
    exchange = Exchange(example("tarn-9"), "front-camera", example("tarn-11"), "front-camera")
    assert criterion(interchange(exchange, Rule(limit=0.99)), "cable reach").by_test == "front-camera-from-11"
    assert criterion(interchange(exchange, Rule("guard-band", k=2)), "cable reach").by_test == "front-camera-from-11"


def test_batteries_do_not_exchange() -> None:
    older = between("battery", "tarn-9", "tarn-11")
    assert older.answer == "does not fit"
    assert "charge it too high" in criterion(older, "electrical label").says
    plus = between("battery", "tarn-11-plus", "tarn-11")
    assert plus.answer == "does not fit"
    assert criterion(plus, "electrical label").says == "2 cells in series for 1"


def test_the_battery_of_the_tarn_11_in_the_tarn_9_is_not_shown() -> None:
    """24.0 ± 0.3 mm of cable for 24.0 mm needed: even odds."""
    found = between("battery", "tarn-11", "tarn-9")
    assert found.answer == "not shown"
    assert criterion(found, "cable reach").probability == pytest.approx(0.5)
    assert found.next is not None


def test_the_turned_logic_board_has_the_same_holes_but_the_play_is_too_small_for_the_measurement() -> None:
    """Play of 0.1 mm against u of 0.042 mm along each axis: 1 - exp(-0.01 / 0.0036) = 93.8 % a hole, five of them."""
    holes = criterion(between("logic-board", "tarn-11", "tarn-11-plus"), "hole pattern")
    assert holes.verdict == "open"
    assert holes.bound == pytest.approx(0.9378, abs=1e-4)
    assert holes.probability == pytest.approx(1 - 5 * (1 - 0.9378), abs=1e-3)
    assert "turned by" in holes.says
    assert holes.measure == "measure the holes again, with less uncertainty"


def test_smaller_holes_take_another_screw() -> None:
    """M1.6 screws of the Tarn 9 in holes of 1.60 ± 0.02 mm: even odds that the screw passes at its nominal diameter."""
    sizes = criterion(between("port-board", "tarn-11", "tarn-9"), "hole sizes")
    assert sizes.verdict == "open"
    assert sizes.probability == pytest.approx(0.5)


def made(ident: str, part: dict[str, Any], tests: dict[str, Any] | None = None, **joint: Any) -> Record:
    screws = {"kind": "screw", "holds": ["brace", "frame"], "thread": "M1.4 x 0.3", "ways": [{}]} | joint
    return Record.model_validate(
        {
            "format": FORMAT,
            "product": {"id": ident, "name": ident, "maker": "Fellwright", "category": "other"},
            "parts": {"frame": {"name": "Frame", "stays": True}, "brace": {"name": "Brace"} | part},
            "joints": {"brace-screws": screws},
            "swap_tests": tests or {},
        }
    )


def brace(size: list[str] | None = None, shift: float = 0.0, u: str = " ± 0.02") -> dict[str, Any]:
    holes = [
        {"at": [f"{x + (shift if n == 1 else 0):.3f}{u} mm", f"{y}{u} mm"], "diameter": "1.60 ± 0.01 mm"}
        for n, (x, y) in enumerate(HOLES)
    ]
    return {"size": size or SIZE, "holes": holes}


def exchanged(old: dict[str, Any], new: dict[str, Any], tests: dict[str, Any] | None = None) -> Interchange:
    return interchange(Exchange(made("host", old, tests), "brace", made("donor", new), "brace"))


def test_a_brace_measured_well_fits() -> None:
    found = exchanged(brace(), brace())
    assert found.answer == "fits"
    assert found.next is None
    assert found.contradiction is None


def test_a_size_without_uncertainty_is_not_shown_and_says_what_to_measure() -> None:
    found = exchanged(brace(), brace(["10.00 mm", "8.00 mm", "3.00 mm"]))
    assert found.answer == "not shown"
    assert found.worst.name == "envelope"
    assert found.worst.probability is None
    assert found.next == "measure the edges of both parts with uncertainty"


def test_a_larger_brace_does_not_fit_and_a_smaller_one_needs_a_seat() -> None:
    larger = [SIZE[0], "9.00 ± 0.02 mm", SIZE[2]]
    assert exchanged(brace(), brace(larger)).answer == "does not fit"
    assert exchanged(brace(larger), brace()).answer == "fits with change"


def test_a_hole_out_of_place_by_more_than_the_play_does_not_fit() -> None:
    found = exchanged(brace(), brace(shift=0.6))
    assert found.answer == "does not fit"
    assert "hole 2 out of place by 0.60 mm" in found.worst.says


def test_holes_without_uncertainty_are_open_even_where_they_agree() -> None:
    assert criterion(exchanged(brace(), brace(u="")), "hole pattern").verdict == "open"


def test_a_swap_test_shows_what_was_not_measured() -> None:
    tests = {"t": {"part": "brace", "donor": {"source": "sibling", "product": "donor"}, "fitted": "fits"}}
    assert exchanged({}, {}).answer == "not shown"
    assert exchanged({}, {}, tests).answer == "fits"


def test_a_swap_test_in_which_it_did_not_go_in_decides() -> None:
    tests = {"t": {"part": "brace", "donor": {"source": "sibling", "product": "donor"}, "fitted": "does-not-fit"}}
    assert exchanged(brace(), brace(), tests).answer == "does not fit"


def test_a_test_never_overrules_a_measurement_and_the_contradiction_is_told() -> None:
    tests = {"t": {"part": "brace", "donor": {"source": "sibling", "product": "donor"}, "fitted": "fits"}}
    found = exchanged(brace(), brace(shift=0.6), tests)
    assert found.answer == "does not fit"
    assert found.contradiction == "hole pattern against it, and yet it went in (t): look again"


def test_a_test_of_another_donor_shows_nothing() -> None:
    tests = {"t": {"part": "brace", "donor": {"source": "other-maker"}, "fitted": "fits"}}
    assert exchanged({}, {}, tests).answer == "not shown"


def test_the_connector_counts_and_case_does_not() -> None:
    plug = {"size": SIZE, "cable": {"length": "20.0 ± 0.1 mm", "needed": "18 mm", "connector": "12-way Blade"}}
    other = {"size": SIZE, "cable": {"length": "20.0 ± 0.1 mm", "needed": "18 mm", "connector": "12-way  blade"}}
    assert criterion(exchanged(plug, other), "connector").verdict == "shown"
    other["cable"]["connector"] = "16-way blade"  # type: ignore[index]
    assert exchanged(plug, other).answer == "does not fit"


def test_a_connector_without_cable_must_sit_in_its_place() -> None:
    def contact(x: str) -> dict[str, Any]:
        return brace() | {"cable": {"connector": "spring contacts", "at": [x, "5.00 ± 0.02 mm"]}}

    place = criterion(exchanged(contact("4.00 ± 0.02 mm"), contact("4.05 ± 0.02 mm")), "connector place")
    assert place.verdict == "shown"
    assert (
        criterion(exchanged(contact("4.00 ± 0.02 mm"), contact("4.80 ± 0.02 mm")), "connector place").verdict
        == "against"
    )
    assert criterion(exchanged(contact("4.00 mm"), contact("4.00 mm")), "connector place").verdict == "open"


def test_a_cable_much_too_long_is_laid_away() -> None:
    def cable(length: str) -> dict[str, Any]:
        return {"cable": {"length": length, "needed": "50.0 mm", "connector": "micro coaxial"}}

    reach = criterion(exchanged(cable("54.0 ± 0.5 mm"), cable("96.0 ± 0.5 mm")), "cable reach")
    assert reach.verdict == "change"


def test_holes_listed_in_another_order_are_the_same_holes_and_the_order_is_told() -> None:
    new = brace()
    new["holes"] = [new["holes"][2], new["holes"][0], new["holes"][1]]
    holes = criterion(exchanged(brace(), new), "hole pattern")
    assert holes.verdict == "shown"
    assert "holes numbered otherwise: 1 = 2, 2 = 3, 3 = 1" in holes.says


def test_two_holes_of_swapped_sizes_are_named() -> None:
    old, new = brace(), brace()
    old["holes"][0]["diameter"], new["holes"][1]["diameter"] = "2.40 ± 0.01 mm", "2.40 ± 0.01 mm"
    assert "hole 2" in criterion(exchanged(old, new), "hole sizes").says


def test_the_guard_band_accepts_holes_that_the_probability_of_all_does_not() -> None:
    exchange = Exchange(example("tarn-11-plus"), "logic-board", example("tarn-11"), "logic-board")
    assert criterion(interchange(exchange, Rule("guard-band", k=2)), "hole pattern").verdict == "shown"
    assert criterion(interchange(exchange, Rule()), "hole pattern").verdict == "open"


def test_far_too_many_holes_are_left_open_with_a_remedy() -> None:
    many = brace()
    many["holes"] = [{"at": [f"{n % 60}.0 ± 0.02 mm", f"{n // 60}.0 ± 0.02 mm"]} for n in range(3000)]
    holes = criterion(exchanged(many, many), "hole pattern")
    assert (holes.verdict, holes.measure) == ("open", "list the fixing holes only")


@pytest.mark.parametrize(
    ("edge", "answer", "says"),
    [
        (
            "43.0 mm",
            "does not fit",
            "no reading errs by 2 mm",
        ),  # 3 mm too long: 0.3 mm allowed, 5 % of 40 mm of reading
        ("42.2 mm", "not shown", "uncertainty not assessed"),
        ("39.4 mm", "not shown", "uncertainty not assessed"),
    ],
)
def test_a_gross_difference_needs_no_uncertainty(edge: str, answer: str, says: str) -> None:
    sizes = (["40.0 mm", "8.0 mm", "3.0 mm"], [edge, "8.9 mm", "3.0 mm"])  # 0.9 mm in 8 mm may be a reading
    records = [
        Record.model_validate(
            {
                "format": FORMAT,
                "product": {"id": ident, "name": ident, "maker": "Fellwright", "category": "other"},
                "parts": {"frame": {"name": "Frame", "stays": True}, "cap": {"name": "Cap", "size": size}},
                "joints": {"seat": {"kind": "clip", "holds": ["cap", "frame"], "ways": [{}]}},
            }
        )
        for ident, size in zip(("host", "donor"), sizes, strict=True)
    ]
    found = interchange(Exchange(records[0], "cap", records[1], "cap"))
    one = criterion(found, "envelope")
    assert says in one.says
    assert one.verdict == ("against" if answer == "does not fit" else "open")
    assert (found.answer == "does not fit") == (answer == "does not fit")


@pytest.mark.parametrize(
    ("length", "verdict", "worst"),
    [
        ("20.0 mm", "against", "cable reach"),
        ("37.0 mm", "open", "cable reach"),
        ("38.0 ± 0.2 mm", "open", "cable reach"),
        ("45.0 ± 0.2 mm", "shown", "software"),
    ],
)
def test_the_worst_criterion_is_the_one_to_measure_next(length: str, verdict: str, worst: str) -> None:
    """A cable 18 mm short needs no uncertainty; of what is open, shape comes before a test under power."""
    records = []
    for ident, own in (("host", "40.0 ± 0.2 mm"), ("donor", length)):
        cable = {"length": own, "needed": "38.0 mm", "connector": "20-way plug"}
        parts = {"frame": {"name": "Frame", "stays": True}, "cam": {"name": "Cam", "size": SIZE, "cable": cable}}
        product = {"id": ident, "name": ident, "maker": "Fellwright", "category": "other"}
        joints = {"tape": {"kind": "tape", "holds": ["cam", "frame"], "ways": [{}]}}
        tree = {"format": FORMAT, "product": product, "parts": parts, "joints": joints}
        records.append(Record.model_validate(tree))
    found = interchange(Exchange(records[0], "cam", records[1], "cam"))
    assert criterion(found, "cable reach").verdict == verdict
    assert found.worst.name == worst
    assert found.next == (found.worst.measure if verdict != "against" else None)
