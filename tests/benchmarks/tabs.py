"""Where tabs stand: on straight runs, off corners and joint faces, around the centre of area.

Measured in the wood that the programs leave, for the demo, published drawings (as drawn, joints fitted) and
random plates. Run: python tests/benchmarks/tabs.py [how many random plates]
"""

from __future__ import annotations

import math
import pathlib
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent))

import numpy as np
import random_plates
from shapely import LineString, MultiLineString, MultiPoint, Point, Polygon, get_parts
from support.places import DEMO, DRAWINGS
from support.replayed import Move, replay, swept, window

from camkit.drawing.read import read
from camkit.geometry.flatten import as_polygon
from camkit.geometry.transform import Placement
from camkit.job.load import load
from camkit.job.model import Job
from camkit.joinery.fit import fit
from camkit.layout.move import moved_part
from camkit.part import Part, Placed
from camkit.pipeline import prepare
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.plan import plan

# Drawn thickness and cutter where they are not 18 and 6.
DRAWN = {
    "desk": (21.0, 6.0),
    "enclosure": (3.0, 2.0),
    "cover": (3.0, 2.0),
    "front": (3.0, 2.0),
    "rack": (20.64, 6.0),
}
# Parts of these lie nearer to each other than that.
NARROW = {"desk-line-soup": 2.0}
# Tabs are looked at this far above the sheet's underside: the lowest are 1.5 high.
LEVEL = 1.4
CORNER = math.radians(20)


@dataclass
class Account:
    """What was found over several parts."""

    parts: int = 0
    few: int = 0
    tipping: int = 0
    straight: int = 0
    on_joint: int = 0
    spans: list[float] = field(default_factory=list)
    corners: list[float] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)

    @property
    def tabs(self) -> int:
        """How many there are."""
        return len(self.corners)

    def said(self) -> str:
        """All of it in a line."""
        near = np.percentile(self.corners, (0, 5, 50)) if self.corners else (math.nan,) * 3
        share = self.straight / max(self.tabs, 1)
        refused = f"REFUSED {', '.join(sorted(set(self.refused)))}" if self.refused else "all sound"
        return (
            f"{self.parts} outlines, {self.tabs} tabs, {share:.1%} on straight runs, from corners least "
            f"{near[0]:.1f}, 5 % {near[1]:.1f}, half {near[2]:.1f} mm; on joint faces {self.on_joint}; too "
            f"short for three {self.few}, others not around the centre {self.tipping}; {refused}"
        )

    def add(self, other: Account) -> None:
        """Take in what was found elsewhere."""
        for name in self.__dataclass_fields__:
            setattr(self, name, getattr(self, name) + getattr(other, name))


def looked_at(placed: Sequence[Placed], job: Job, size: tuple[float, float], thickness: float) -> Account:
    """What the program for a sheet leaves round each part."""
    planned = plan(placed, job, size, thickness)
    text = write(planned.cuts, job, job.sheet[0], name="tabs", size=size)
    said = judge(text, placed, job, sheet_size=size, thickness=thickness).verdict
    account = Account()
    moves = replay(text, {cutter.number: cutter.diameter for cutter in job.cutter})
    cutters = {(cut.part, cut.copy): cut.cutter for cut in planned.cuts if cut.kind == "profile"}
    cut = {name for name, _ in cutters}  # what no cutter on hand can follow is refused for that
    account.refused = [
        f.rule
        for f in said.findings
        if f.rule in ("loose-part", "uncut") and (f.part or "").split(":")[0] in cut
    ]
    wide = {cutter.number: cutter.diameter for cutter in job.cutter}
    table = 0.0 if job.machine.zero == "table" else -thickness
    for piece in placed:
        number = cutters.get((piece.part.name, piece.copy))
        if number is not None:
            _measure(piece.shape, moves, wide[number], table, account)
    return account


def _measure(part: Part, moves: list[Move], wide: float, table: float, account: Account) -> None:
    solid = as_polygon(part.outline)
    kerf = solid.buffer(wide).difference(solid)
    around = window(solid, 2 * wide)
    stand = kerf.buffer(-0.1).difference(swept(moves, table + LEVEL, around))
    tabs = [piece for piece in get_parts(stand) if piece.area > 0.5 * wide * wide]
    joints = MultiLineString(list(part.joint_faces)) if part.joint_faces else None
    sharp = corners(solid)
    account.parts += 1
    account.few += len(tabs) < 3
    centre = as_polygon(part.region()).centroid
    around_it = MultiPoint([tab.centroid for tab in tabs]).convex_hull
    account.tipping += len(tabs) > 2 and not around_it.covers(centre)
    for tab in tabs:
        wall = solid.exterior.intersection(tab.buffer(0.3))
        account.straight += _is_straight(wall)
        account.corners.append(min((tab.centroid.distance(Point(c)) for c in sharp), default=999.0))
        account.on_joint += joints is not None and tab.centroid.distance(joints) < wide / 2 + 0.3


def _is_straight(wall: object) -> bool:
    points = np.concatenate([np.array(line.coords) for line in get_parts(wall)])
    ends = max(((a, b) for a in points for b in points), key=lambda two: float(np.hypot(*(two[0] - two[1]))))
    chord = LineString(ends)
    return all(chord.distance(Point(p)) < 0.1 for p in points)


def corners(solid: Polygon) -> list[tuple[float, float]]:
    """Where the outline, freed of its finest chords, turns by more than 20 degrees."""
    ring = np.array(solid.simplify(0.02).exterior.coords)[:-1]
    before, after = ring - np.roll(ring, 1, 0), np.roll(ring, -1, 0) - ring
    turn = np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(1))
    return [tuple(point) for point in ring[np.abs(turn) > CORNER]]


def published() -> Iterator[tuple[str, Account]]:
    """Every published drawing at hand, as drawn."""
    for path in sorted(DRAWINGS.glob("*.[ds][xv][fg]")):
        thickness, wide = DRAWN.get(path.stem.split("-")[0], (18.0, 6.0))
        wide = NARROW.get(path.stem, wide)
        job = Job.model_validate(
            {
                "sheet": {"drawn_thickness": thickness, "measured_thickness": (thickness,)},
                "cutter": ({"number": 1, "diameter": wide}, {"number": 2, "diameter": 1.0}),
            }
        )
        parts = fit(read(path).parts, job, [job.sheet[0]] * len(read(path).parts)).parts
        x0, y0, x1, y1 = (
            pick(part.bounds()[k] for part in parts) for k, pick in enumerate((min, min, max, max))
        )
        at = Placement(20 - x0, 20 - y0)
        placed = [Placed(part, moved_part(part, at), x=at.x, y=at.y) for part in parts]
        yield path.name, looked_at(placed, job, (x1 - x0 + 40, y1 - y0 + 40), thickness)


def main(plates: int) -> None:
    """Print a line for each drawing, and one for all random plates."""
    begin = time.perf_counter()
    every = Account()
    demo = prepare(load(DEMO), DEMO.parent)
    rows = [
        ("potting bench", looked_at(demo.placed, demo.job, demo.sheets[0].size, demo.sheets[0].thickness))
    ]
    for name, account in (*rows, *published()):
        print(f"{name}: {account.said()}", flush=True)
        every.add(account)
    print(f"all drawings: {every.said()}")
    random = Account()
    for seed in range(plates):
        task = random_plates.job(seed)
        thickness = task.sheet[0].thickness
        part = random_plates.plate(seed, thickness)
        random.add(looked_at([Placed(part, part)], task, random_plates.SIZE, thickness))
    print(f"random plates: {random.said()}; {time.perf_counter() - begin:.0f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
