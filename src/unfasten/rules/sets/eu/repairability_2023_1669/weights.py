"""Which shares of the priority parts are in force for a product: with or without hinge."""

from __future__ import annotations

from unfasten.evidence.parameter import Figure, Law
from unfasten.rules.criterion import Readings
from unfasten.rules.facts import Product

HINGE = "hinge"
FOLDABLE = ("foldable-smartphone", "foldable-slate-tablet")
BOTH = ("parts.weights", "parts.weights_foldable")


def is_foldable(product: Product) -> bool:
    """Tell whether the category is that of a foldable product."""
    return product.category in FOLDABLE


def depth_weights(product: Product, law: Law) -> Figure:
    """Shares for the depth: those with hinge if the category is foldable or a hinge is present."""
    return law(BOTH[is_foldable(product) or bool(product.of_role(HINGE))])


def route_weights(product: Product, law: Law, readings: Readings) -> Figure:
    """Shares for fasteners and tools: by the category, as the text has it (reading `foldable-weights`)."""
    if readings["foldable-weights"] == "one-trigger":
        return depth_weights(product, law)
    return law(BOTH[is_foldable(product)])
