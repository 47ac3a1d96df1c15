"""The test coupon: slots in steps about the sheet's thickness, a tongue for them, a block, dowel holes.

Which cutter makes it and what it holds; `coupon_pieces` draws it. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from camkit.errors import CannotBeMadeError, Finding
from camkit.job.model import Cutter, Drawings, Job, Sheet
from camkit.joinery.coupon_marks import Pen
from camkit.joinery.coupon_pieces import STEPS, Bore, Slot, arranged, plate
from camkit.joinery.relief import cutter_for
from camkit.part import Part

__all__ = ["Coupon", "coupon"]

# What is added to the dowel's diameter, hole by hole.
DOWEL_STEPS = (-0.1, 0.0, 0.1, 0.2, 0.3)
# A cutter must be able to step aside in a slot, or its width is the cutter's and nothing is learnt.
_ASIDE = 0.2
# Wood beyond the outermost cut, where tabs hang.
_STRIP = 5.0
# A drill serves holes of its own diameter, to this much; a bored hole needs room beside the cutter.
_DRILL = 0.1
_BORE_ROOM = 0.2


@dataclass(frozen=True, slots=True)
class Coupon:
    """The pieces of a coupon in sheet coordinates and what is where; `job` cuts them and nothing else.

    `cutter` makes slots, tongue and block. `size` is the wood that is needed, margins included.
    """

    job: Job
    stock: Sheet
    cutter: Cutter
    size: tuple[float, float]
    parts: tuple[Part, ...]
    slots: tuple[Slot, ...]
    bores: tuple[Bore, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def thickness(self) -> float:
        """Of the sheet, the mean of its readings."""
        return self.stock.thickness


def coupon(job: Job, stock: Sheet) -> Coupon:
    """The coupon for a job and one of its sheets.

    Raises CannotBeMadeError when no milling cutter of the job enters the narrowest slot, when the one that
    does is too short, or when the sheet is smaller than the coupon.
    """
    thickness = stock.thickness
    cutter = _cutter(job, thickness)
    wanted, left_out = _bores_wanted(job, cutter)
    drills = tuple(c for c in job.cutter if _drills(c, wanted))
    pen = Pen.of_cutter(cutter.diameter, thickness, [drill.diameter for drill in drills])
    x_plate = plate("X", thickness, cutter.diameter, pen, wanted)
    y_plate = plate("Y", thickness, cutter.diameter, pen, ())
    margin = max(stock.margin, cutter.diameter + _STRIP)
    x_plate, y_plate, tongue, block, size = arranged(x_plate, y_plate, pen, margin, cutter.diameter)
    piece = Coupon(
        _job(job, stock, (cutter, *drills)),
        stock,
        cutter,
        size,
        (x_plate.part, y_plate.part, tongue, block),
        (*x_plate.slots, *y_plate.slots),
        x_plate.bores,
        left_out,
    )
    _check_room(stock, size)
    return piece


def _cutter(job: Job, thickness: float) -> Cutter:
    narrowest = thickness + STEPS[0]
    through = thickness + job.machine.into_table
    entering = [c for c in job.cutter if c.mills and c.diameter <= narrowest - _ASIDE + 1e-9]
    cutter = cutter_for(narrowest, through, entering)
    if cutter is None:
        smallest = min((c.diameter for c in job.cutter if c.mills), default=None)
        have = f"the smallest is {smallest:g} mm" if smallest is not None else "the job has none"
        raise _cannot(
            "coupon-cutter",
            f"no milling cutter of the job makes the coupon's narrowest slot of {narrowest:.2f} mm: {have}",
            f"Use a cutter of at most {narrowest - _ASIDE:.2f} mm; joints of this sheet need it just as well",
        )
    if cutter.cutting_length is not None and cutter.cutting_length < through:
        raise _cannot(
            "coupon-cutter",
            f"cutter {cutter.number} is too short for the coupon: its edges are {cutter.cutting_length:g} mm "
            f"long, a cut through takes {through:.2f}",
            "Use a longer cutter, or correct cutting_length",
        )
    return cutter


def _cannot(rule: str, message: str, remedy: str) -> CannotBeMadeError:
    return CannotBeMadeError(Finding("error", rule, message, remedy))


def _job(job: Job, stock: Sheet, cutters: tuple[Cutter, ...]) -> Job:
    """The job's machine, tabs and cutter for the coupon's own pieces; readings of an earlier one go.

    So do hold-down screws: the coupon's board is hardly larger than its pieces.
    """
    title = f"{job.title}: test coupon" if job.title else "Test coupon"
    kept = {"title": title, "sheet": (stock,), "cutter": cutters, "drawings": Drawings(), "layers": {}}
    fit = job.fit.model_copy(update={"measured": None})
    return job.model_copy(
        update={**kept, "fit": fit, "part": (), "joint": (), "glue_up": (), "hold_down": None}
    )


def _check_room(stock: Sheet, size: tuple[float, float]) -> None:
    have = stock.size
    if have is not None and (size[0] > have[0] or size[1] > have[1]):
        raise _cannot(
            "coupon-room",
            f"the coupon takes {size[0]:.0f} x {size[1]:.0f} mm, the sheet is {have[0]:g} x {have[1]:g}",
            "Cut it from another piece of the same plywood and give that as --sheet",
        )


def _bores_wanted(job: Job, cutter: Cutter) -> tuple[tuple[Bore, ...], tuple[Finding, ...]]:
    """Holes for each size of dowel in the job's glue-ups, at (0, 0) yet, and what was left out."""
    found: list[Bore] = []
    findings: list[Finding] = []
    for dowel, play in sorted({(row.dowel, row.play) for row in job.glue_up}):
        if dowel in [bore.dowel for bore in found]:
            continue
        if any(_fits_drill(c, dowel + play) for c in job.cutter):
            found.append(Bore(dowel, round(play, 3), 0.0, 0.0, drilled=True))
        elif dowel + DOWEL_STEPS[0] >= cutter.diameter + _BORE_ROOM:
            found += [Bore(dowel, step, 0.0, 0.0) for step in DOWEL_STEPS]
        else:
            findings.append(
                Finding(
                    "note",
                    "coupon-dowels",
                    f"no holes for dowels of {dowel:g} mm: cutter {cutter.number}, which the coupon tries, "
                    f"is {cutter.diameter:g} mm wide",
                )
            )
    return tuple(found), tuple(findings)


def _fits_drill(cutter: Cutter, diameter: float) -> bool:
    return cutter.kind == "drill" and abs(cutter.diameter - diameter) <= _DRILL + 1e-9


def _drills(cutter: Cutter, bores: Iterable[Bore]) -> bool:
    return any(bore.drilled and _fits_drill(cutter, bore.diameter) for bore in bores)
