"""Title block and summary of a report."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from unfasten.record.log import Lifted
from unfasten.record.record import Record
from unfasten.report.model.score import Band
from unfasten.report.model.sheet import KeyDepth, Summary, TitleBlock
from unfasten.report.model.span import Fact
from unfasten.routes.reasons import moved_parts
from unfasten.routes.result import Reach
from unfasten.service.cautions import deference, product_cautions
from unfasten.service.report_operations import KEY_ROLES, as_caution
from unfasten.service.report_routes import object_of, shown_route
from unfasten.service.report_score import Rating
from unfasten.service.report_words import (
    NAME,
    NOT_KNOWN,
    NOT_STATED,
    clean,
    listing,
    origin_of,
    part_name,
    quantity,
    steps_span,
    time_span,
    words,
)

STATES = {
    "draft": "Work goes on, figures may change without notice.",
    "provisional": "The figures stand on what is known so far; the open facts below can still move them.",
    "final": "The record is closed in this edition.",
}


def title_block(record: Record, rules: str, on: date) -> TitleBlock:
    """Give the title block; what the record does not state says so."""
    sheet, product = record.sheet, record.product
    name = f"{clean(product.maker, NAME)} {clean(product.name, NAME)}"
    return TitleBlock(
        owner=clean(sheet.owner, NAME) or NOT_STATED,
        number=clean(sheet.number, 40) or product.id[:40],
        edition=str(sheet.edition),
        issued=(sheet.on or on).isoformat(),
        title=f"{clean(product.name, NAME)}: disassembly and repairability",
        document_type="Disassembly report",
        creator=clean(sheet.by, NAME) or NOT_STATED,
        approved_by=clean(sheet.approved_by, NAME) or "not approved",
        state=sheet.state,
        product=name,
        rules=rules,
        rules_on=on.isoformat(),
        defer=deference(),
    )


def summary(record: Record, reaches: Mapping[str, Reach], rating: Rating) -> Summary:
    """Give the first sheet."""
    depths = tuple(
        _key_depth(record, reach) for role in KEY_ROLES for reach in reaches.values() if _role(record, reach) == role
    )
    return Summary(
        lead=_lead(rating.band, depths),
        facts=_facts(record),
        band=rating.band,
        depths=depths,
        open=rating.open,
        state=STATES[record.sheet.state],
        cautions=tuple(as_caution(care) for care in product_cautions(record)),
    )


def _role(record: Record, reach: Reach) -> str | None:
    return record.parts[reach.target].role


def _lead(band: Band | None, depths: tuple[KeyDepth, ...]) -> str:
    parts = [
        f"{depth.name}: {depth.steps.text} {'step' if depth.steps.text == '1' else 'steps'}"
        for depth in depths
        if depth.steps.low is not None
    ]
    parts += [f"{depth.name}: not reachable" for depth in depths if depth.steps.low is None]
    if band is not None:
        noun = "class" if band.classes and "–" not in band.classes else "classes"
        parts.insert(0, f"Index {band.span.text} of {band.most}, {noun} {band.classes}")
    return ". ".join(parts) + "." if parts else ""


def _key_depth(record: Record, reach: Reach) -> KeyDepth:
    route = shown_route(reach)
    moved = [
        object_of(record, action)
        for action in (route.actions if route else ())
        if moved_parts(record, action) and action.part != reach.target
    ]
    before = f"Before it: {listing(list(dict.fromkeys(moved)))}." if moved else "Nothing has to move before it."
    because = before if route else clean(reach.reason)
    return KeyDepth(reach.target, part_name(record, reach.target), steps_span(reach), time_span(reach), because)


def _facts(record: Record) -> tuple[Fact, ...]:
    product = record.product
    size = " × ".join(str(length) for length in product.size) if product.size else NOT_KNOWN
    lifted = sum(1 for entry in record.log if isinstance(entry, Lifted))
    fasteners = sum(joint.count for joint in record.joints.values())
    return (
        Fact("Maker", clean(product.maker, NAME), ""),
        Fact("Product", clean(product.name, NAME), ""),
        Fact("Category", words(product.category), ""),
        Fact("Released", product.released.isoformat() if product.released else NOT_KNOWN, ""),
        Fact("Predecessor", clean(product.predecessor) or NOT_KNOWN, ""),
        Fact("Mass", quantity(product.mass), origin_of(product.mass, "")),
        Fact("Size", size, "" if not product.size else origin_of(product.size[0], "")),
        Fact("Parts", str(len(record.parts)), "seen"),
        Fact("Joints", f"{len(record.joints)} with {fasteners} fasteners", "seen"),
        Fact("Tools named", str(len(record.tools)), "seen"),
        Fact("Log", f"{len(record.log)} entries, {lifted} lifts", "seen"),
    )
