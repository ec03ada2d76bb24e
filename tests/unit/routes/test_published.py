"""Families with a known answer, over their whole range, and the orders of a pen's connections."""

from __future__ import annotations

import runpy
from math import factorial
from pathlib import Path

import pytest

from unfasten.routes.checkmodels import chain, layers, orders, star
from unfasten.routes.solve import solve


@pytest.mark.parametrize("tools", [1, 2, 3])
def test_a_chain_is_as_deep_as_it_is_long(tools: int) -> None:
    for number, reach in enumerate(solve(chain(15, tools)).values(), 1):
        assert reach.low is not None
        assert reach.low.proven
        assert reach.low.steps == number
        assert reach.low.time == number + (1 if tools == 1 else number)


def test_a_star_is_one_step_to_each_arm_and_all_of_them_to_the_hub() -> None:
    found = {name: reach.steps_low for name, reach in solve(star(9)).items()}
    assert found == {**{f"arm-{n}": 1 for n in range(1, 10)}, "hub": 10}


@pytest.mark.parametrize(("count", "width"), [(1, 4), (2, 3), (4, 3), (5, 2)])
def test_a_part_in_layers_needs_all_layers_above(count: int, width: int) -> None:
    found = solve(layers(count, width))
    for layer in range(1, count + 1):
        for place in range(1, width + 1):
            assert found[f"part-{layer}-{place}"].steps_low == width * (layer - 1) + 1


def test_the_pen_has_thirty_of_its_orders() -> None:
    assert orders(5, []) == factorial(5)
    assert orders(5, [(3, 4), (1, 5)]) == 30
    assert orders(5, [(1, 2), (2, 1)]) == 0


def test_the_drawings_show_what_the_program_finds() -> None:
    docs = Path(__file__).parents[3] / "docs"
    drawn = runpy.run_path(str(docs / "make_families.py"))["figures"]()
    stored = {name: (docs / "pictures" / name).read_text("utf-8") for name in drawn}
    assert stored == drawn, "run python docs/make_families.py"
