"""Which part of the annex a product falls under: part B for phones, part D for tablets."""

from __future__ import annotations

from unfasten.rules.case import Case

PHONES = ("smartphone", "foldable-smartphone")
FOLDABLE = ("foldable-smartphone", "foldable-slate-tablet")


def product_of(case: Case) -> str:
    """`phone` or `tablet`, as the parameters name them."""
    return "phone" if case.category in PHONES else "tablet"


def is_foldable(case: Case) -> bool:
    """Tell whether the category is that of a foldable product."""
    return case.category in FOLDABLE
