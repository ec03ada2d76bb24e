"""Which pairing a part needs, by what the record lists and what its swap tests show."""

from __future__ import annotations

from typing import Any

import pytest

from unfasten.record.check import check_record
from unfasten.record.paired import noticed, paired
from unfasten.record.read import read_tree
from unfasten.record.record import FORMAT, Record

N, A = ["notification"], ["authorisation"]
BOTH = ("notification", "authorisation")
CODES = {"record.swap-against-pairing", "record.swap-open", "record.swap-conflict"}
LIMITED = {"accepted": "limited", "lost": ["charge limit"]}


def record(*tests: dict[str, Any], lists: list[str] | None = None, **donor: str) -> Record:
    base = {"part": "battery", "donor": {"source": "same-model", **donor}, "fitted": "fits", "software": "1"}
    tree = {
        "format": FORMAT,
        "product": {"id": "tarn-11", "name": "Tarn 11", "maker": "Fellwright", "category": "slate-tablet"},
        "parts": {
            "frame": {"name": "Frame", "stays": True},
            "battery": {"name": "Battery", "role": "battery", "pairing": lists or []},
            "cover": {"name": "Cover", "role": "back-cover"},
        },
        "joints": {"plug": {"kind": "connector", "holds": ["battery", "frame"], "ways": [{}]},
                   "clips": {"kind": "clip", "holds": ["cover", "frame"], "ways": [{}]}},
        "swap_tests": {f"t{number}": base | test for number, test in enumerate(tests)},
    }  # fmt: skip
    found = read_tree(tree)
    assert found.findings == ()
    assert found.record is not None
    return found.record


def full(asked: list[str] | None = None, **more: Any) -> dict[str, Any]:
    return {"accepted": "full", "asked": asked or [], **more}


@pytest.mark.parametrize(
    ("lists", "tests", "least", "most", "basis", "code"),
    [
        # no test speaks: the record is taken at its word
        ([], [], (), (), "listed", None),
        (N, [], ("notification",), ("notification",), "listed", None),
        (N, [{}], ("notification",), ("notification",), "listed", None),
        (N, [{"fitted": "does-not-fit"}], ("notification",), ("notification",), "listed", None),
        # worked in full: what was asked for is what it needs
        ([], [full()], (), (), "tested", None),
        (N, [full(N)], ("notification",), ("notification",), "tested", None),
        (N, [full()], (), (), "tested", "record.swap-against-pairing"),
        ([], [full(A)], ("authorisation",), ("authorisation",), "tested", "record.swap-against-pairing"),
        (N, [full(N + A)], BOTH, BOTH, "tested", "record.swap-against-pairing"),
        ([], [full(A, messages=["register it"])], ("authorisation",), ("authorisation",), "tested",
         "record.swap-against-pairing"),
        # refused or limited: at least what was asked for; a lost function alone shows nothing
        ([], [LIMITED], (), BOTH, "open", "record.swap-open"),
        ([], [{"accepted": "refused"}], (), BOTH, "open", "record.swap-open"),
        ([], [full(messages=["part not known"])], (), BOTH, "open", "record.swap-open"),
        ([], [LIMITED | {"asked": N}], ("notification",), BOTH, "open", "record.swap-against-pairing"),
        (N, [LIMITED], ("notification",), ("notification",), "listed", None),
        (N, [LIMITED | {"asked": N}], ("notification",), ("notification",), "listed", None),
        (N, [{"accepted": "refused", "asked": A}], ("authorisation",), BOTH, "open", "record.swap-against-pairing"),
        # one that worked decides where others were inconclusive
        ([], [LIMITED, full()], (), (), "tested", None),
        ([], [LIMITED, full(N)], ("notification",), ("notification",), "tested", "record.swap-against-pairing"),
        # tests that contradict one another
        ([], [full(), full(N)], (), ("notification",), "conflict", "record.swap-conflict"),
        (N, [full(), full(N)], (), ("notification",), "conflict", "record.swap-conflict"),
        ([], [full(N), full(N + A)], ("notification",), BOTH, "conflict", "record.swap-conflict"),
        ([], [full(), LIMITED | {"asked": N}], (), BOTH, "conflict", "record.swap-conflict"),
        ([], [full(N), LIMITED | {"asked": A}, LIMITED], (), BOTH, "conflict", "record.swap-conflict"),
    ],
)  # fmt: skip
def test_listing_and_tests_together(
    lists: list[str], tests: list[dict[str, Any]], least: tuple[str, ...], most: tuple[str, ...], basis: str,
    code: str | None,
) -> None:  # fmt: skip
    made = record(*tests, lists=lists)
    found = paired(made, "battery")
    assert (found.least, found.most, found.basis) == (least, most, basis)
    codes = {finding.code for finding in check_record(made)}
    assert codes & CODES == ({code} if code else set())


def test_the_sentence_names_the_tests_and_the_record() -> None:
    assert paired(record(full(N), lists=N), "battery").why == (
        "swap test t0 shows remote notification needed, as the record lists"
    )
    assert paired(record(full(), lists=N), "battery").why == (
        "swap test t0 shows no pairing needed; it outranks the record, which lists remote notification"
    )
    assert paired(record(full(), LIMITED | {"asked": N}), "battery").why == (
        "swap tests contradict one another: t0 shows no pairing, t1 shows at least remote notification"
    )


def test_the_sentence_says_what_is_wanting() -> None:
    assert paired(record(full(messages=["part not known"])), "battery").why == (
        "swap test t0 leaves it open: a message was shown; the record lists no pairing"
    )
    assert paired(record(LIMITED, {"accepted": "refused", "asked": A}), "battery").why == (
        "swap tests t0 and t1 show at least remote authorisation needed: "
        "the part did not come to work in full; the record lists no pairing"
    )


def test_a_later_test_with_other_software_overtakes() -> None:
    early, late = full(on="2026-03-01", software="1"), full(N, on="2026-04-01", software="2")
    found = paired(record(early, late), "battery")
    assert (found.least, found.basis, found.tests, found.older) == (("notification",), "tested", ("t1",), ("t0",))
    assert found.why.endswith("(overtaken by other software: t0)")
    same = paired(record(early, late | {"software": "1"}), "battery")
    assert same.basis == "conflict"
    assert paired(record(early, {k: v for k, v in late.items() if k != "on"}), "battery").basis == "conflict"


@pytest.mark.parametrize("donor", [{"product": "tarn-9"}, {"part": "cover"}, {"source": "sibling"}])
def test_only_the_part_itself_out_of_the_same_model_speaks(donor: dict[str, str]) -> None:
    assert paired(record(full(N), **donor), "battery").basis == "listed"


def test_what_the_device_can_notice() -> None:
    assert noticed(record()) == {"battery", "frame"}
