"""How few bench questions are enough: a simulation with a hidden truth, and its table and chart in docs/.

`python benchmarks/questions.py` plays every cell (a size, and a share of covers known at the start) on made records:
ways of joints are surveyed in part only, the true covers are hidden, and questions are asked until the steps of every
priority part are exact, or until the class is settled. Seeds are fixed. `--group nine` or `three`: only products with
so many priority parts; `--products N` plays fewer products and writes nothing; `--keep FOLDER` keeps what each strategy
took on each product there and goes on from it (empty it, or the strategy's lines, after a change of the program).
"""

from __future__ import annotations

import argparse
import json
import platform
import random
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import partial
from multiprocessing import Pool
from pathlib import Path

from question_play import Game, Product, class_after, product, settled_after, unavoidable
from questions_chart import Result, chart, tables
from unfasten.routes.opencover import OpenCover

DOCS = Path(__file__).parent.parent / "docs"
PRODUCTS = 10
#: what is known at the start -> joints of the made record, share of the true and of the false covers known, products
KNOWN = {
    "30, none": (22, Fraction(0), Fraction(0), 10),
    "30, 60 % of the true and 20 % of the false": (22, Fraction(6, 10), Fraction(2, 10), 10),
    "120, none": (87, Fraction(0), Fraction(0), 3),
    "120, 30 % and 5 %": (87, Fraction(3, 10), Fraction(5, 100), 3),
    "120, 60 % and 20 %": (87, Fraction(6, 10), Fraction(2, 10), 3),
}
#: group of products -> whether it has three priority parts only; each has tables and a chart of its own in docs/
GROUPS = {"nine": False, "three": True}

RANDOM, MATTER = "random order", "only what can matter"
LEAST, LEAST_LOOKS = "no strategy below", "no looks below"

Pick = Callable[[Game, random.Random], OpenCover]


def that_matters(game: Game, rng: random.Random) -> OpenCover:
    """Any question that can matter."""
    return rng.choice(game.matter() or game.open())


def on_high(game: Game, rng: random.Random) -> OpenCover:
    """The question that most high routes meet."""
    found = game.critical()
    return min(found, key=lambda c: (-len(found[c]), c)) if found else on_low(game, rng)


def on_low(game: Game, rng: random.Random) -> OpenCover:
    """The question whose cover would break most low routes."""
    found = game.blocking()
    return min(found, key=lambda c: (-len(found[c]), c)) if found else that_matters(game, rng)


def narrowing(game: Game, rng: random.Random) -> OpenCover:
    """The question with the best expected narrowing of steps.

    "Clear" saves what open covers alone keep on a high route, halved for each further cover that would have to be clear
    as well; "covers" costs a low route that it breaks at least a step.
    """
    return _best(game, rng, dict.fromkeys(game.open_targets(), Fraction(1)))


def for_the_class(game: Game, rng: random.Random) -> OpenCover:
    """The question with the best expected effect on the index: a step counts what it moves in a part's points."""
    now, effect = game.width(game.reaches), {}
    for target in game.open_targets():
        reach = game.reaches[target]
        done = {**game.reaches, target: replace(reach, high=reach.low)}
        effect[target] = max(now - game.width(done), Fraction(1, 10_000)) / game.span(target)
    return _best(game, rng, effect)


def _best(game: Game, rng: random.Random, weight: dict[str, Fraction]) -> OpenCover:
    scores: dict[OpenCover, Fraction] = {}
    for cover, targets in game.critical().items():
        for target in targets:
            saved, users = game.gains(target)[cover.cover]
            scores[cover] = scores.get(cover, Fraction(0)) + weight[target] * saved / 2**users
    for cover, targets in game.blocking().items():
        scores[cover] = scores.get(cover, Fraction(0)) + sum(weight[target] for target in targets)
    return min(scores, key=lambda c: (-scores[c], c)) if scores else that_matters(game, rng)


STEPS: dict[str, tuple[Pick, bool]] = {
    "on the high routes": (on_high, False),
    "on the low routes": (on_low, False),
    "best expected narrowing": (narrowing, False),
    "the same, one look a way": (narrowing, True),
}
CLASS: dict[str, tuple[Pick, bool]] = {
    "by effect on the index": (for_the_class, False),
    "the same, one look a way": (for_the_class, True),
}


def in_order(of: Product, seed: int) -> tuple[list[OpenCover], int, int]:
    """A random order of all questions, how many of it it takes, and how many without those that cannot matter."""
    order = list(of.worlds.covers)
    random.Random(seed).shuffle(order)
    place = {cover: number for number, cover in enumerate(order, 1)}
    last, needed = 0, set()
    for target in Game(of).targets:
        own = [cover for cover in order if cover in of.worlds.relevant(target)]
        asked = own[: settled_after(of, target, own)]
        needed.update(asked)
        last = max(last, place[asked[-1]] if asked else 0)
    return order, last, len(needed)


def play(of: Product, pick: Pick, seed: int, *, looks: bool, until_class: bool) -> tuple[int, bool]:
    """Questions (or looks) until it is settled, and whether the class shown then is that of the truth."""
    game, rng, asked = Game(of), random.Random(seed), 0
    while not _is_settled(game, until_class=until_class):
        best = pick(game, rng)
        for cover in [c for c in game.open() if c.place == best.place] if looks else [best]:
            game.tell(cover)
        asked += 1
    return asked, not until_class or game.grade()[0] == _true_class(of)


def _is_settled(game: Game, *, until_class: bool) -> bool:
    if not until_class:
        return not game.open_targets()
    low, high = game.grade()
    return low == high


def _true_class(of: Product) -> str:
    game = Game(of)
    reaches = {}
    for target in game.targets:
        route = of.worlds.route(target, of.truth)
        reaches[target] = type(game.reaches[target])(target, route, route, game.reaches[target].additions)
    return game.grade(reaches)[0]


class Kept:
    """What was found out about one product, kept in a file so that a run that was broken off goes on from there."""

    def __init__(self, folder: Path | None, name: str) -> None:
        self.file = None if folder is None else folder / f"{name}.json"
        text = "{}" if self.file is None or not self.file.exists() else self.file.read_text("utf-8")
        self.found: dict[str, list[int]] = json.loads(text)

    def get(self, name: str, find: Callable[[], Sequence[int]]) -> list[int]:
        """What is kept under a name; found now, with the seconds it took at the end, if it is not."""
        if name not in self.found:
            began = time.process_time()
            self.found[name] = [*map(int, find()), round(time.process_time() - began)]
            if self.file is not None:
                self.file.write_text(json.dumps(self.found, indent=1) + "\n", "utf-8")
        return self.found[name]


def one(task: tuple[str, str, int, Path | None]) -> Result:
    """All strategies on one product of a cell: shares of its pairs asked, and facts of the product."""
    group, cell, seed, folder = task
    joints, true_share, false_share, _ = KNOWN[cell]
    kept = Kept(folder, f"{group}-{list(KNOWN).index(cell)}-{seed}")
    of = product(joints, true_share, false_share, seed=seed, few=GROUPS[group])
    every, mattering, _ = kept.get("steps, in order", lambda: in_order(of, seed)[1:])
    must, looks_must, _ = kept.get("steps, least", lambda: least(of))
    steps = {RANDOM: every, MATTER: mattering}
    for name, (pick, looks) in STEPS.items():
        steps[name] = kept.get(f"steps, {name}", partial(play, of, pick, seed, looks=looks, until_class=False))[0]
    steps |= {LEAST: must, LEAST_LOOKS: looks_must}
    grades, wrong = {}, 0
    if kept.get("class, open", lambda: [len(set(Game(of).grade())) > 1])[0]:
        grades[RANDOM] = kept.get("class, in order", lambda: [class_after(of, in_order(of, seed)[0])])[0]
        for name, (pick, looks) in CLASS.items():
            grades[name], right, _ = kept.get(
                f"class, {name}", partial(play, of, pick, seed, looks=looks, until_class=True)
            )
            wrong += not right
    facts = {"pairs": of.pairs, "open": len(of.worlds.covers), "events": of.events, "wrong": wrong}
    facts["seconds"] = sum(found[-1] for found in kept.found.values())
    return cell, *({name: asked / of.pairs for name, asked in table.items()} for table in (steps, grades)), facts


def least(of: Product) -> tuple[int, int]:
    """Questions, and looks, that no strategy can spare."""
    must = unavoidable(of)
    return len(must), len({cover.place for cover in must})


def main() -> None:
    """Play each group, print, and write docs/questions.md and its charts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--products", type=int, default=PRODUCTS)
    parser.add_argument("--group", choices=list(GROUPS), action="append")
    parser.add_argument("--keep", type=Path, metavar="FOLDER")
    parser.add_argument("--processes", type=int)
    options = parser.parse_args()
    if options.keep is not None:
        options.keep.mkdir(parents=True, exist_ok=True)
    for group in options.group or GROUPS:
        play_group(group, options.products, options.keep, options.processes)


def play_group(group: str, products: int, folder: Path | None, processes: int | None) -> None:
    """Play all cells of a group; with all products, write its tables and its chart."""
    began = time.perf_counter()
    tasks = [(group, cell, seed, folder) for cell in KNOWN for seed in range(1, min(products, KNOWN[cell][3]) + 1)]
    cells = list(KNOWN)
    with Pool(processes) as pool:
        results = sorted(pool.imap_unordered(one, tasks[::-1]), key=lambda result: cells.index(result[0]))
    shown = [RANDOM, MATTER, *STEPS]
    text = tables(cells, results, [*shown, LEAST, LEAST_LOOKS], [RANDOM, *CLASS])
    seconds = [facts["seconds"] for *_, facts in results]
    print(text)
    print(
        f"{time.perf_counter() - began:.0f} s; processor per product: "
        f"median {statistics.median(seconds)}, most {max(seconds)} s"
    )
    if products == PRODUCTS:
        begin, end = f"<!-- tables of questions.py, {group} -->", f"<!-- end of tables, {group} -->"
        page = DOCS / "questions.md"
        before, after = page.read_text("utf-8").split(begin)[0], page.read_text("utf-8").split(end)[1]
        head = f"Made products, seeds from 1; Python {platform.python_version()}.\n"
        page.write_text(f"{before}{begin}\n{head}\n{text}\n{end}{after}", "utf-8")
        (DOCS / f"questions-{group}.svg").write_text(chart(cells, results, shown, LEAST), "utf-8")


if __name__ == "__main__":
    main()
