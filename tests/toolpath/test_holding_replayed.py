"""Skins and vacuum measured in the wood that a program leaves."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from shapely import box, get_parts
from shapely.geometry.base import BaseGeometry
from support.replayed import replay, swept
from support.router import placed, plate

from camkit.errors import Finding
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import rectangle
from camkit.job.model import Cutter, Job
from camkit.part import Hole, Part
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.plan import plan

SIZE = (700.0, 500.0)
THICKNESS = 18.0


def programmed(parts: Sequence[Part], finish: float = 0.0, **tabs: object) -> tuple[str, list[Finding]]:
    """The program, which the judge passes, and what the planner says."""
    job = Job.model_validate({"sheet": {"measured_thickness": (THICKNESS,)}, "tabs": tabs,
                              "cutter": (Cutter(number=1, diameter=6.0, finish_pass=finish),),
                              "machine": {"into_table": 0.3}})  # fmt: skip
    planned = plan(placed(*parts), job, SIZE, THICKNESS)
    text = write(planned.cuts, job, job.sheet[0], name="test", size=SIZE)
    said = judge(text, placed(*parts), job, sheet_size=SIZE, thickness=THICKNESS).verdict
    assert [f.message for f in said.findings if f.level == "error"] == []
    return text, list(planned.findings)


def cleared(text: str, z: float) -> BaseGeometry:
    return swept(replay(text, {1: 6.0}), z)


def kerf(part: Part) -> BaseGeometry:
    solid = as_polygon(part.outline)
    return solid.buffer(5.9, join_style="round").difference(solid.buffer(0.1))


@pytest.mark.parametrize("finish", [0.0, 0.3])
def test_a_skin_as_thick_as_asked_stays_under_outline_and_waste_and_nowhere_else(finish: float) -> None:
    part = plate(
        50, 50, 400.0, 300.0, openings=(rectangle(150, 120, 350, 260),), holes=(Hole((80, 80), 9.0),)
    )
    text, said = programmed([part], finish, hold="skin", skin=0.4)
    hole = box(80 - 3, 80 - 3, 80 + 3, 80 + 3)
    assert cleared(text, -THICKNESS + 0.41).contains(kerf(part))
    deeper = cleared(text, -THICKNESS + 0.39)
    assert deeper.contains(hole) and deeper.area == pytest.approx(3.14159 * 4.5**2, abs=0.5)
    assert [f.rule for f in said if f.rule.startswith("held")] == ["held-by-skin"]
    assert "(A skin of 0.4 mm stays under these outlines, to be pared off:)\n(  shelf)\n" in text


def test_large_pieces_are_cut_free_on_vacuum_and_small_ones_get_tabs_as_the_area_says() -> None:
    """13,333 mm2 at 30 kPa: 150 x 100 is more, 120 x 100 less."""
    large, small = plate(50, 50, 150.0, 100.0, "large"), plate(50, 250, 120.0, 100.0, "small")
    text, said = programmed([large, small], hold="vacuum")
    gone = cleared(text, -THICKNESS)
    assert gone.contains(kerf(large))
    assert sum(piece.area > 20 for piece in get_parts(kerf(small).difference(gone))) == 3
    rules = {f.rule: f for f in said if f.rule in ("held-by-vacuum", "vacuum-too-small")}
    assert "large" in rules["held-by-vacuum"].message and rules["vacuum-too-small"].part == "small"
    assert (
        "to hold it by its 120 cm2 alone, vacuum of 30 kPa would need 133"
        in rules["vacuum-too-small"].message
    )
    assert "(Cut right through without tabs, hold by vacuum:)\n(  large)\n" in text


def test_a_piece_cut_free_leaves_the_tabs_of_the_one_beside_it() -> None:
    """9 apart: the cut round the large piece runs through that round the small one."""
    large, small = plate(50, 50, 150.0, 100.0, "large"), plate(209, 50, 40.0, 100.0, "small")
    text, _ = programmed([large, small], hold="vacuum")
    held = box(0, 0, *SIZE).difference(cleared(text, -THICKNESS))
    (piece,) = [piece for piece in get_parts(held) if piece.contains(as_polygon(small.outline).centroid)]
    assert piece.bounds[0] == 0


def test_the_header_names_every_piece_however_many_there_are() -> None:
    names = [f"slat with a long name, number {k}" for k in range(9)]
    parts = [plate(20, 20 + 50 * k, 600.0, 30.0, name) for k, name in enumerate(names)]
    text, _ = programmed(parts, hold="skin")
    head = text[: text.index("G21")]
    assert all(head.count(name) == 1 for name in names)
