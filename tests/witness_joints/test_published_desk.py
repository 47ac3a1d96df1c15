"""A published desk, drawn for 21 with mortises of 22 and dogbones of 3.1, cut from 20.6, replayed.

The drawing's sizes are read without camkit: ten mortises of 22 x 91, ten openings for wedges of 21 x 25.2.
"""

from __future__ import annotations

import math
import pathlib
import shutil

import ezdxf
import numpy as np
import pytest
from shapely import LineString, box
from support.measured import gap
from support.places import published
from support.replayed import Move, replay, swept

from camkit.job.load import load
from camkit.pipeline import Result, make

THICK, CLEARANCE, OFF = 20.6, 0.2, 0.02
Place = tuple[float, float, float]  # middle of an opening, and the direction of its long side


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> tuple[Result, list[Move], pathlib.Path]:
    """The desk's program, replayed."""
    drawing = published("desk-fillets-mm.dxf")
    folder = tmp_path_factory.mktemp("desk")
    shutil.copy(drawing, folder)
    (folder / "job.toml").write_text(
        f"""[sheet]
size = [2500, 1250]
drawn_thickness = 21
measured_thickness = [{THICK}, {THICK}]
[[cutter]]
number = 1
diameter = 6
[drawings]
files = ["{drawing.name}"]
unit = "mm"
[fit]
clearance = {CLEARANCE}
""",
        encoding="utf-8",
    )
    result = make(load(folder / "job.toml"), folder, "desk")
    (program,) = result.programs
    assert program.verdict.ok
    return result, replay(program.text, {1: 6.0}), drawing


def openings(drawing: pathlib.Path, short: float, long: float) -> list[Place]:
    """Openings of the drawing whose four straight walls stand `short` and `long` apart."""
    found = []
    for line in ezdxf.readfile(drawing).modelspace().query("POLYLINE"):
        corners = [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in line.vertices]
        ring = zip(corners, corners[1:] + corners[:1], strict=True)
        walls = [(a[:2], b[:2]) for a, b in ring if not a[2]]
        if len(walls) != 4:
            continue
        apart = (across(walls[0], walls[2]), across(walls[1], walls[3]))
        if sorted(apart) == pytest.approx([short, long], abs=0.02):
            a, b = walls[0] if apart[0] < apart[1] else walls[1]  # walls that stand close run the long way
            x, y = np.mean([p for wall in walls for p in wall], axis=0)
            found.append((float(x), float(y), math.atan2(b[1] - a[1], b[0] - a[0])))
    return found


def across(a: tuple[tuple[float, float], ...], b: tuple[tuple[float, float], ...]) -> float:
    """Distance of the middle of wall `b` from the line of wall `a`."""
    (x0, y0), (x1, y1) = a
    long = math.dist(*a)
    mx, my = (b[0][0] + b[1][0]) / 2, (b[0][1] + b[1][1]) / 2
    return abs((x1 - x0) * (my - y0) - (y1 - y0) * (mx - x0)) / long


def sizes(moves: list[Move], place: Place, reach: float) -> tuple[float, float]:
    """How wide and how long an opening was cut, through its middle, above the tabs."""
    x, y, angle = place
    area = box(x - reach, y - reach, x + reach, y + reach)
    wood = area.difference(swept(moves, 3.01 - THICK, area))
    found = []
    for turn in (angle + math.pi / 2, angle):
        dx, dy = reach * math.cos(turn), reach * math.sin(turn)
        begin, end = gap(wood, LineString([(x - dx, y - dy), (x + dx, y + dy)]))
        found.append(end - begin)
    return found[0], found[1]


def test_ten_mortises_keep_the_millimetre_of_play_that_was_drawn(
    desk: tuple[Result, list[Move], pathlib.Path],
) -> None:
    """22.0 for 21: more play than 0.5 is taken as meant, so 20.6 + 1.0."""
    _, moves, drawing = desk
    places = openings(drawing, 22.0, 91.0)
    assert len(places) == 10
    for place in places:
        wide, long = sizes(moves, place, 60.0)
        assert wide == pytest.approx(THICK + 1.0, abs=OFF)
        assert long == pytest.approx(91.0, abs=OFF)


def test_ten_openings_for_wedges_take_the_sheet_and_the_clearance(
    desk: tuple[Result, list[Move], pathlib.Path],
) -> None:
    _, moves, drawing = desk
    places = openings(drawing, 21.0, 25.2)
    assert len(places) == 10
    for place in places:
        wide, long = sizes(moves, place, 24.0)
        assert wide == pytest.approx(THICK + CLEARANCE, abs=OFF)
        assert long == pytest.approx(25.2, abs=OFF)


def test_ten_tenons_stay_as_proud_as_drawn_and_nothing_else_is_called_a_joint(
    desk: tuple[Result, list[Move], pathlib.Path],
) -> None:
    """Ten mortises, ten openings for wedges; tenons 60 long stand 39 proud of 21, and of 20.6 too."""
    result, _, _ = desk
    kinds = [joint.kind for joint in result.fitted.joints]
    assert sorted(kinds) == ["mortise"] * 10 + ["wedge opening"] * 10
    tenons = [size for size in result.fitted.sizes if size.what == "length of tenon"]
    assert len(tenons) == 10
    assert [t.fitted_mm for t in tenons] == pytest.approx([THICK + 39.0] * 10, abs=0.01)
