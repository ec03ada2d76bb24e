"""Exchange: adding evidence never widens an answer back to not shown."""

from __future__ import annotations

import random
from typing import Any

import pytest

from unfasten.compare.interchange import interchange
from unfasten.compare.place import Exchange
from unfasten.record.record import FORMAT, Record

GIVEN = ("fits", "fits with change", "does not fit")


def record(ident: str, part: dict[str, Any], tests: dict[str, Any]) -> Record:
    return Record.model_validate(
        {
            "format": FORMAT,
            "product": {"id": ident, "name": ident, "maker": "Fellwright", "category": "other"},
            "parts": {"frame": {"name": "Frame", "stays": True}, "part": {"name": "Part"} | part},
            "joints": {
                "screws": {"kind": "screw", "holds": ["part", "frame"], "thread": "M1.4 x 0.3", "ways": [{}]},
                "plug": {"kind": "connector", "holds": ["part", "frame"], "ways": [{}]},
            },
            "swap_tests": tests,
        }
    )


def part(rng: random.Random) -> dict[str, Any]:
    """A part with everything recorded; each uncertainty is there or not."""

    def pm(u: str) -> str:
        return f" ± {u}" if rng.random() < 0.7 else ""

    offset = rng.choice([0, 0, 0, 0.6])
    return {
        "size": [f"{10 + rng.choice([0, 0, 0.1, 1])}{pm('0.02')} mm", f"8{pm('0.02')} mm", f"3{pm('0.02')} mm"],
        "holes": [
            {"at": [f"{x}{pm('0.01')} mm", f"2{pm('0.01')} mm"], "diameter": f"1.7{pm('0.01')} mm"}
            for x in (2, 18 + offset)
        ],
        "cable": {
            "length": f"{rng.choice([20, 21, 19])}{pm('0.3')} mm",
            "needed": "19.5 mm",
            "connector": rng.choice(["plug", "plug", "contacts"]),
        },
    }


def more(rng: random.Random, given: dict[str, Any]) -> dict[str, Any]:
    """The same part with some of the missing uncertainties assessed."""

    def assessed(text: str, u: str) -> str:
        return text.replace(" mm", f" ± {u} mm") if "±" not in text and rng.random() < 0.7 else text

    holes = [
        {"at": [assessed(axis, "0.01") for axis in hole["at"]], "diameter": assessed(hole["diameter"], "0.01")}
        for hole in given["holes"]
    ]
    cable = given["cable"] | {"length": assessed(given["cable"]["length"], "0.3")}
    return {"size": [assessed(edge, "0.02") for edge in given["size"]], "holes": holes, "cable": cable}


def swap(rng: random.Random) -> dict[str, Any]:
    fitted = rng.choice(["fits", "fits", "with-change", "does-not-fit"])
    out: dict[str, Any] = {"part": "part", "donor": {"source": "sibling", "product": "donor"}, "fitted": fitted}
    if fitted != "does-not-fit":
        out |= {"accepted": rng.choice(["full", "limited", "refused"]), "software": "1"}
    return out


@pytest.mark.parametrize("seed", range(400))
def test_evidence_never_widens_an_answer(seed: int) -> None:
    rng = random.Random(seed)
    old, new = part(rng), part(rng)
    tests = {"first": swap(rng)} if rng.random() < 0.5 else {}
    before = interchange(Exchange(record("host", old, tests), "part", record("donor", new, {}), "part"))
    richer = tests or ({"first": swap(rng)} if rng.random() < 0.5 else {})
    host, donor = record("host", more(rng, old), richer), record("donor", more(rng, new), {})
    after = interchange(Exchange(host, "part", donor, "part"))
    if before.answer in GIVEN:
        assert after.answer in GIVEN, (before.criteria, after.criteria)
    if before.answer == "does not fit":
        assert after.answer == "does not fit"


@pytest.mark.parametrize("seed", range(50))
def test_an_answer_always_says_why(seed: int) -> None:
    rng = random.Random(seed)
    found = interchange(Exchange(record("host", part(rng), {}), "part", record("donor", part(rng), {}), "part"))
    assert found.worst.says
    assert (found.next is not None) == (found.answer == "not shown")
    for one in found.criteria:
        assert one.probability is None or 0 <= one.probability <= 1
        assert one.bound is None or one.probability is None or one.probability <= one.bound + 1e-12
