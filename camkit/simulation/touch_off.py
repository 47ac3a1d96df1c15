"""Rule `touch-off-cut`: the sheet stays whole where Z is set again after a change by hand. Lengths in mm."""

from __future__ import annotations

from shapely import Point

from camkit.errors import Finding
from camkit.geometry.tolerance import GOUGE
from camkit.job.model import Job
from camkit.program.motion import Reading
from camkit.simulation.hit import Hit, fold
from camkit.simulation.swept import swept
from camkit.simulation.track import Track

__all__ = ["find_cut_touch_off"]


def find_cut_touch_off(track: Track, job: Job, reading: Reading) -> list[Finding]:
    """Cuts of the track that come under the widest cutter's tip when it stands on the spot.

    None where the job names no spot. The amount is how far they come in.
    """
    if job.machine.touch_off is None:
        return []
    spot = Point(job.machine.touch_off)
    widest = max(cutter.diameter for cutter in job.cutter) / 2
    done = swept(track, GOUGE)
    hits = []
    for n in done.pieces_meeting(spot, widest - GOUGE):
        x, y, z = min(done.pieces.start[n], done.pieces.end[n], key=lambda point: float(point[2]))
        inside = float(done.pieces.radius[n]) + widest - done.lines[n].distance(spot)
        hits.append(Hit(int(done.pieces.motion[n]), float(x), float(y), float(z), inside))
    return fold(
        "touch-off-cut",
        hits,
        reading,
        lambda hit: f"the cut comes {hit.amount:.2f} mm under the cutter that is touched off at the spot",
        "Move touch_off in [machine] to where nothing is cut",
    )
