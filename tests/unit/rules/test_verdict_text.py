"""Verdicts and quantities as text: what decides is shown, what is alike stands together, nothing is too wide."""

from __future__ import annotations

from datetime import date
from typing import Any

from unfasten.rules.decide import decide, measure
from unfasten.rules.handcase import hand_case
from unfasten.rules.library import label_set, requirement_set
from unfasten.rules.verdicttext import decision_text, label_text

DAY = date(2026, 6, 1)


def verdicts(on: date = DAY, rules: str = "eu-2023-1670", **given: Any) -> list[str]:
    return decision_text(decide(requirement_set(rules), hand_case({"category": "slate-tablet", **given}), on), "Tarn")


def block(lines: list[str], name: str) -> list[str]:
    """The lines of one requirement, without their indent, its head first."""
    start = next(number for number, line in enumerate(lines) if f"[{name};" in line)
    end = next((n for n in range(start + 1, len(lines)) if lines[n][:1].strip()), len(lines))
    return [lines[start], *(line.strip() for line in lines[start + 1 : end] if line.strip())]


def test_parts_alike_stand_together_and_those_that_are_met_are_left_out_beside_one_that_is_not() -> None:
    good, bad = {"environment": "use", "skill": "layman"}, {"environment": "use", "skill": "expert"}
    lines = block(verdicts(parts={"speaker": bad, "microphone": bad, "button": good}), "disassembly-inner")
    assert lines[0].startswith("not met         replacing the display assembly")
    # in the order of the list of the law
    assert "microphone, speaker: not met (skill: not met (expert; asked for: layman, generalist))" in lines
    assert not any("button" in line for line in lines if "absent" not in line)


def test_an_alternative_that_fails_is_shown_beside_the_one_that_is_open() -> None:
    hard = {"reuse": "removable", "environment": "workshop", "skill": "generalist"}
    lines = block(verdicts(parts={"battery": hard}), "disassembly-battery")
    assert "route i: not met" in lines
    assert "battery is removable" in " ".join(lines)
    assert "route ii: unknown" in lines
    assert "capacity after 500 cycles: unknown (not known; at least 83 asked for)" in lines


def test_questions_alike_stand_together() -> None:
    lines = verdicts(parts={"speaker": {}, "microphone": {}})
    (line,) = [line for line in lines if "by whom can it be replaced?" in line]
    assert line.startswith("- microphone, speaker: ")
    text = " ".join(" ".join(lines).split())
    assert "[parts.microphone.replacing.skill and 1 like it; settles disassembly-inner]" in text


def test_nothing_open_says_so_and_every_figure_used_is_cited() -> None:
    lines = verdicts(date(2027, 6, 1), "eu-2023-1542-11", category="smartphone", parts={"speaker": {}})
    assert "5 does not apply" in lines
    assert "Nothing is left to look at." in lines
    assert "- portable.mass: eu-2023-1542, Article 11" in "\n".join(verdicts(
        date(2027, 6, 1), "eu-2023-1542-11", parts={"battery": {}}, mass="100 g"))  # fmt: skip


def test_rules_that_do_not_apply_are_one_sentence() -> None:
    lines = verdicts(date(2027, 2, 17), "eu-2023-1542-11")
    assert lines[2:] == ["The rules do not apply: not yet in force on 2027-02-17; the rules apply from 2027-02-18."]


def test_the_label_shows_low_to_high_and_what_to_measure() -> None:
    given = {"category": "smartphone", "battery": {"nominal_voltage": "4 V", "rated_capacity": "2500 mAh"},
             "tests": {"endurance": "27.0 ± 0.2 h", "capacity": [{"cycles": 900, "left": "81 %"}]}}  # fmt: skip
    lines = label_text(measure(label_set("eu-2023-1669-label"), hand_case(given), DAY), "Tarn")
    text = "\n".join(lines)
    assert "energy efficiency index            2.66 to 2.74, class B to A 1/W" in text
    assert "battery endurance in cycles        >= 900 to >= 1400      cycle" in text
    assert "to look at: how long does one charge last in the test of the label? [tests.endurance]" in text
    assert "ingress protection                 IP00 to IP68" in text


def test_the_efficiency_index_stands_with_its_two_decimals_as_the_law_states_it() -> None:
    """48.5 h, 3.85 V, 4500 mAh: 2.80, class A (entry of the European product registry, with an assumed voltage)."""
    given = {"category": "smartphone", "battery": {"nominal_voltage": "3.85 V", "rated_capacity": "4500 mAh"},
             "tests": {"endurance": "48.5 h", "capacity": [{"cycles": 1450, "left": "80.0 ± 0.5 %"}]}}  # fmt: skip
    text = "\n".join(label_text(measure(label_set("eu-2023-1669-label"), hand_case(given), DAY), "Tarn"))
    assert "energy efficiency index            2.80, class A" in text
    assert "80 % left after 0 cycles for certain, how much longer is not known" in text


def test_lines_are_no_wider_than_a_page() -> None:
    parts = {
        name: {} for name in ("battery", "speaker", "microphone", "button", "front-camera", "rear-camera", "hinge")
    }
    lines = verdicts(parts=parts, supply={"spare_parts": {"bundled": [["battery", "display-assembly", "speaker"]]}})
    assert max(map(len, lines)) <= 122
