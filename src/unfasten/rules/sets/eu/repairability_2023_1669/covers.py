"""What keeps the routes to a part open: unknown covers, and a search that was not finished."""

from __future__ import annotations

from unfasten.rules.facts import Piece, Product
from unfasten.rules.node import Remark


def cover_remarks(piece: Piece, product: Product) -> tuple[Remark, ...]:
    """One open remark for each place on the part's routes whose covers are not fully known."""
    out = [
        Remark("open", f"does {_any(parts, product)} cover {product.called(*at.split('.')[:2])}?", at)
        for at, parts in sorted(piece.unknown().items())
    ]
    if any(route is not None and not route.proven for route in (piece.low, piece.high)):
        called = product.called("parts", piece.id)
        what = f"the search for the shortest route to {called} was not finished; give it more time"
        out.append(Remark("open", what, f"parts.{piece.id}"))
    return tuple(out) or (
        Remark("open", f"the covers on the way to {product.called('parts', piece.id)}", f"parts.{piece.id}"),
    )


def _any(ids: tuple[str, ...], product: Product) -> str:
    parts = [product.called("parts", part) for part in ids]
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} or {parts[-1]}"
