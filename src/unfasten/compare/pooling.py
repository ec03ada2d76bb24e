"""Groups of parts that may be stocked as one: every two parts of a group are shown to fit in either place.

Interchange under tolerance is not transitive (a for b and b for c do not give a for c), so a group must be a clique of
the graph of shown fits. The fewest groups are found exactly, over all sets of the at most twelve parts of a family row.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from functools import cache
from typing import Final, TypeVar

#: most parts for which the fewest groups are sought exactly
MOST: Final = 12
Item = TypeVar("Item", bound=Hashable)


def groups(items: Sequence[Item], fits: Callable[[Item, Item], bool]) -> tuple[tuple[Item, ...], ...]:
    """Split the items into the fewest groups in which every two fit both ways; the first items are kept together first.

    `fits(place, donor)` is asked for every ordered pair. Raises `ValueError` for more than twelve items.

    >>> groups("abc", lambda one, other: {one, other} != {"a", "c"})
    (('a', 'b'), ('c',))
    """
    if len(items) > MOST:
        raise ValueError(f"{len(items)} parts; at most {MOST} can be grouped")
    count = len(items)
    near = [
        sum(1 << j for j in range(count) if i != j and fits(items[i], items[j]) and fits(items[j], items[i]))
        for i in range(count)
    ]

    def is_group(members: int) -> bool:
        return all(not members >> i & 1 or (members & ~(1 << i)) & ~near[i] == 0 for i in range(count))

    @cache
    def fewest(left: int) -> tuple[int, ...]:
        if left == 0:
            return ()
        first = left & -left
        rest = left & ~first
        best: tuple[int, ...] | None = None
        others = rest
        while True:
            group = first | others
            if is_group(group):
                found = (group, *fewest(left & ~group))
                best = found if best is None or len(found) < len(best) else best
            if others == 0:
                break
            others = (others - 1) & rest
        return best or ()

    return tuple(
        tuple(items[i] for i in range(count) if group >> i & 1) for group in fewest((1 << count) - 1)
    )  # fmt: skip
