"""Neutral RS-274 text after NISTIR 6556: no word that belongs to one control only."""

from __future__ import annotations

from collections.abc import Sequence

from camkit.cut import Cut, CutKind
from camkit.job.model import Job, Machine, Sheet
from camkit.program.chords import straightened
from camkit.program.frame import Frame, frame_of
from camkit.program.header import header
from camkit.program.held import held_words
from camkit.program.lines import Lines
from camkit.program.standing import hole_middle, may_travel_low, standing_areas
from camkit.program.travel import low_travel
from camkit.program.words import comment, number

__all__ = ["write"]


def write(
    cuts: Sequence[Cut],
    job: Job,
    stock: Sheet,
    *,
    name: str,
    size: tuple[float, float],
    says: Sequence[str] = (),
    higher: float = 0.0,
) -> str:
    """The program for one sheet of `stock` and of `size` (length, width) mm.

    Its header says in words what the program fits, and `says`; each cut begins with a numbered comment.
    `higher` lifts the whole of it by so many mm. Ends with M30.
    """
    machine = job.machine
    cutters = {cutter.number: cutter for cutter in job.cutter}
    used = list(dict.fromkeys(cut.cutter for cut in cuts))
    frame = frame_of(machine, size, stock.thickness, higher)
    writer = Lines(job, frame, size, stock.thickness)
    lines = header(job, name, size, stock, [cutters[n] for n in used], (*says, *held_words(cuts, job)))
    lines += _modes(machine, frame)
    ready = low_travel(cuts, machine, standing_areas(cuts, job)) if may_travel_low(cuts, job) else tuple(cuts)
    # In the air nothing is drilled, and no screw can be fitted.
    screws = [hole_middle(cut) for cut in cuts if cut.kind == "hold-down" and not higher]
    now: int | None = None
    before: CutKind | None = None
    for cut in straightened(ready)[0] if machine.arcs == "lines" else ready:
        cutter = cutters[cut.cutter]
        if screws and before == "hold-down" != cut.kind:
            lines += writer.screws(screws, cutter if cut.cutter == now else None)
        before = cut.kind
        if cut.cutter != now:
            lines += writer.change(cutter, first=now is None)
            now = cut.cutter
        lines.append(comment(f"CUT {cut.number} {cut.kind.upper()} {cut.part.upper()} {cut.copy}"))
        lines += [line for move in cut.moves for line in writer.move(move)]
    if screws and before == "hold-down":
        lines += writer.screws(screws, None)
    if cuts:
        lines += writer.lift()
    lines += [*writer.stop(), "M30"]
    return "\n".join(lines) + "\n"


def _modes(machine: Machine, frame: Frame) -> list[str]:
    """The start block: every mode that a control may have kept, but those that it does not take."""
    unit = "G20" if machine.program_unit == "inch" else "G21"
    path = "G61"
    if machine.path == "blended":
        path = f"G64 P{number(machine.path_deviation / frame.unit, frame.decimals)}"
    block = " ".join(word for word in ("G17", unit, "G40", "G49", "G80", "G90", "G94") if machine.takes(word))
    return [block, *(word for word in ("G54", path) if machine.takes(word))]
