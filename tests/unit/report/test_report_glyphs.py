"""Characters for print: the ranges hold, the rest becomes a square, long runs get places to break."""

from __future__ import annotations

import json
import unicodedata

import pytest
import typst

from unfasten.report.glyphs import BREAK, RANGES, breakable, drawable, latin

SOURCE = b"""
#set document(title: "x")
#set text(lang: "en", font: ("Libertinus Serif", "DejaVu Sans Mono"))
#for c in json(bytes(sys.inputs.data)) [#c #parbreak()]
"""


@pytest.mark.parametrize("run", RANGES, ids=lambda run: f"{run[0]:04X}-{run[1]:04X}")
def test_fonts_draw_every_character_of_the_ranges(run: tuple[int, int]) -> None:
    chars = [chr(code) for code in range(run[0], run[1] + 1) if unicodedata.category(chr(code)) not in ("Cn", "Cf")]
    done = typst.compile(
        SOURCE,
        ignore_system_fonts=True,
        format="pdf",
        pdf_standards=["a-2a", "ua-1"],
        sys_inputs={"data": json.dumps([drawable(char) for char in chars])},
    )
    assert done.startswith(b"%PDF")


@pytest.mark.parametrize(
    ("given", "drawn"),
    [
        ("Battery 5–7 ½", "Battery 5–7 ½"),
        ("電池", "□□"),
        ("e\u0301", "é"),
        ("\u0301", "□"),
        ("q\u0301\u0301", "q\u0301□"),
    ],
)
def test_drawable(given: str, drawn: str) -> None:
    assert drawable(given) == drawn


def test_latin_keeps_what_the_report_itself_uses() -> None:
    assert latin("5–7 “a” … × é Ж ع") == "5–7 “a” … × é □ □"


def test_long_runs_can_be_broken_and_numbers_are_left_whole() -> None:
    assert breakable("3.1075–3.22") == "3.1075–3.22"
    assert breakable("joints.battery-glue") == f"joints.{BREAK}battery-{BREAK}glue"
    assert max(map(len, breakable("x" * 100).split(BREAK))) <= 18
