"""Questions on records one can draw by hand: expected narrowing, criticality, looks, and the cut to a part."""

from __future__ import annotations

from fractions import Fraction

from support.small_record import record
from unfasten.record.record import Record
from unfasten.routes.opencover import OpenCover, open_covers, taken_as_real
from unfasten.routes.outcomes import outcomes
from unfasten.routes.questions import Asker, meets, most_steps, span_of
from unfasten.routes.worlds import Answers, Worlds

ALL = ["lid", "x", "y", "cell"]
LOG = [
    *({"do": do, key: name} for do, key, name in (("release", "joint", "jl"), ("lift", "part", "lid"))),
    *({"do": do, key: name} for do, key, name in (("release", "joint", "jx"), ("lift", "part", "x"))),
    *({"do": do, key: name} for do, key, name in (("release", "joint", "jy"), ("lift", "part", "y"))),
    *({"do": do, key: name} for do, key, name in (("release", "joint", "jc"), ("lift", "part", "cell"))),
]


def stacked() -> Record:
    """A lid over x, y and a cell; whether x and y lie over the cell's joint is not known, the lid is known to."""
    return record(
        ALL,
        {
            "jl": ("lid frame", {"tools": ["a"]}),
            "jx": ("x frame", {"tools": ["b"], "under": ["lid"]}),
            "jy": ("y frame", {"tools": ["b"], "under": ["lid"]}),
            "jc": ("cell frame", {"tools": ["a"], "under": ["lid"], "survey": "partial"}),
        },
        log=LOG,
    )


X, Y = (OpenCover("joint", "jc", 0, cover) for cover in ("x", "y"))


def steps(worlds: Worlds, part: str) -> Asker:
    def width(reaches: object) -> Fraction:
        low, high = span_of(reaches[part], worlds.record)  # type: ignore[index]
        return Fraction(high - low)

    return Asker(worlds, [part], width)


def test_open_covers_are_listed_and_go_back_into_a_table() -> None:
    worlds = Worlds(stacked())
    assert worlds.covers == (X, Y)
    assert open_covers(taken_as_real([Y, X])) == (X, Y)
    assert X.place == "joints.jc.ways[0]"
    assert OpenCover("bundle", "stack", None, "x").place == "bundles.stack.lift"


def test_an_answer_is_expected_to_narrow_by_half_of_what_it_moves() -> None:
    # low: lid, cell = 2 steps; high: lid, x, y, cell = 4. "Covers" raises low by 1, "clear" lowers high by 1.
    worlds = Worlds(stacked())
    asker = steps(worlds, "cell")
    assert (asker.reaches["cell"].steps_low, asker.reaches["cell"].steps_high) == (2, 4)
    ranked = asker.rank()
    # each stands on two routes: it would break the low one, and the high one meets it
    assert [(q.cover, q.narrows, q.critical, q.searched) for q in ranked] == [(X, 1, 2, True), (Y, 1, 2, True)]
    assert asker.narrows([X, Y]) == 2


def test_a_prior_weighs_the_two_answers() -> None:
    worlds = Worlds(stacked())
    even = steps(worlds, "cell").rank()
    sure = Asker(worlds, ["cell"], lambda r: Fraction(r["cell"].steps_high or 0), prior=lambda c: Fraction(1, 4)).rank()
    assert even[0].narrows == 1
    assert sure[0].narrows == Fraction(3, 4)  # only "clear", with three chances in four, lowers the high end


def test_answers_move_only_their_own_end() -> None:
    worlds = Worlds(stacked())
    covered = worlds.reach("cell", Answers().told(X, real=True))
    clear = worlds.reach("cell", Answers().told(X, real=False))
    assert (covered.steps_low, covered.steps_high) == (3, 4)
    assert (clear.steps_low, clear.steps_high) == (2, 3)


def test_nothing_is_asked_about_a_part_that_no_cover_can_matter_to() -> None:
    worlds = Worlds(stacked())
    assert worlds.relevant("x") == frozenset()
    assert steps(worlds, "x").rank() == []
    assert ("release", "jc") not in worlds.events("x")


def test_two_answers_that_narrow_only_together_are_still_asked() -> None:
    # x and y hang on one joint each, but each also lies under the other: either cover drags both out
    both = record(
        ALL,
        {
            "jl": ("lid frame", {"tools": ["a"]}),
            "jxy": ("x y", {"tools": ["b"], "under": ["lid"]}),
            "jx": ("x frame", {"tools": ["b"], "under": ["lid"]}),
            "jy": ("y frame", {"tools": ["b"], "under": ["x"]}),
            "jc": ("cell frame", {"tools": ["a"], "under": ["lid"], "survey": "partial"}),
        },
        log=[*LOG[:3], {"do": "release", "joint": "jxy"}, *LOG[3:]],
    )
    asker = steps(Worlds(both), "cell")
    ranked = asker.rank()
    assert [q.cover for q in ranked] == [Y, X]
    assert ranked[0].narrows > ranked[1].narrows >= 0


def test_outcomes_are_all_routes_that_some_truth_has() -> None:
    worlds = Worlds(stacked())
    found = {outcome["cell"].steps for outcome in outcomes(worlds, ["cell"], frozenset((X, Y))) if outcome["cell"]}
    assert found == {2, 3, 4}


def test_breaking_and_pruning() -> None:
    worlds = Worlds(stacked())
    low, high = worlds.route("cell", frozenset()), worlds.route("cell", frozenset((X, Y)))
    assert low is not None
    assert high is not None
    assert worlds.breaking(low, [X, Y]) == (X, Y)
    assert worlds.breaking(high, [X, Y]) == ()
    pruned = worlds.pruned(high, frozenset((Y,)))
    assert (pruned.steps, "x" in {action.part for action in pruned.actions}) == (3, False)
    assert meets(high, X)
    assert not meets(high, OpenCover("joint", "jc", 1, "x"))


def test_a_part_without_high_route_has_a_wide_interval() -> None:
    one = stacked()
    worlds = Worlds(one)
    reach = worlds.reach("cell", Answers())
    assert span_of(reach, one) == (2, 4)
    # four joints with one tool, five parts, no lift with tools: at most 9, so no route counts 10
    assert most_steps(one) == 9
