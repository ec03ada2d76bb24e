"""What the check values of this folder are computed with: one model for each question."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Final

from unfasten.evidence.checkvalue import Computed, Models
from unfasten.photo.identify.boarduse import Body, Side, View, board_use
from unfasten.photo.identify.datecode import read_date_code, weeks_in
from unfasten.photo.identify.drives import drives_for
from unfasten.photo.identify.markings import compare
from unfasten.photo.identify.packages import packages_for
from unfasten.photo.identify.threads import Thread, known_threads, threads_for
from unfasten.photo.identify.window import Measured

MODELS = Models()
#: the tables are those of this day
DAY: Final = date(2026, 1, 1)


def _thread(name: str) -> Thread:
    return next(thread for thread in known_threads(DAY) if thread.name == name)


@MODELS.model("naming.thread-size")
def thread_size(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Diameters [mm], stress area [mm2] and limits of the outer diameter [mm] of a thread."""
    thread = _thread(given["thread"])
    return {
        "d": thread.d,
        "P": thread.pitch,
        "d2": thread.pitch_diameter,
        "D1": thread.minor_diameter,
        "d3": thread.root_diameter,
        "As": thread.stress_area,
        "max": thread.limits.high,
        "min": thread.limits.low,
    }


@MODELS.model("naming.thread-set")
def thread_set(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Names of the threads that a diameter and pitch can be, `u` being the uncertainty of either [mm]."""
    pitch = Measured(given["pitch"], given["u_pitch"]) if "pitch" in given else None
    found = threads_for(Measured(given["diameter"], given["u"]), pitch, DAY)
    return {"set": ", ".join(thread.name for thread in found.candidates) or "none"}


@MODELS.model("naming.hexalobular")
def hexalobular(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Hexalobular sizes that a width across points can be."""
    found = drives_for(Measured(given["points"], given["u"]), DAY, ("hexalobular",))
    return {"set": ", ".join(f"no. {drive.size}" for drive in found.candidates) or "none"}


@MODELS.model("naming.date-code")
def date_code(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Mondays of the weeks that a code can mean."""
    found = read_date_code(given["code"], date.fromisoformat(given["made_before"]))
    return {"mondays": ", ".join(str(one.monday) for one in found.readings) or "none"}


@MODELS.model("naming.long-years")
def long_years(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Years of 53 weeks."""
    return {"years": " and ".join(str(year) for year in range(given["from"], given["to"] + 1) if weeks_in(year) == 53)}


@MODELS.model("naming.package")
def package(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Names of the packages that a body can be."""
    one, other = (Measured(side, given["u"]) for side in given["size"])
    return {"set": ", ".join(p.name for p in packages_for(one, other, DAY).candidates) or "none"}


@MODELS.model("naming.similarity")
def similarity(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Similarity of a reading and a listed marking [%]."""
    return {"similarity": compare(given["read"], given["listed"])[0]}


@MODELS.model("naming.board-use")
def use(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Use of a board [%] of given sides [mm] by bodies on its front, the back being bare; `scale` is its relative u."""
    view, u = View("photo", given.get("scale", 0.0)), given.get("u", 0.0)
    board = Body("board", u, sides=tuple(given["board"]), view=view)
    bodies = tuple(
        Body(f"body {number}", u, sides=(width, length), view=view, count=count)
        for number, (width, length, count) in enumerate(given["bodies"])
    )
    found = board_use([Side("front", board, bodies), Side("back", board, ())])
    front, both = found.sides[0], found.over_both
    return {
        "body_area": front.body_area.value,
        "u_body_area": front.body_area.u,
        "use": front.share.value * 100,
        "u_use": front.share.u * 100,
        "empty": front.empty.value * 100,
        "both": 0.0 if both is None else both.value * 100,
    }
