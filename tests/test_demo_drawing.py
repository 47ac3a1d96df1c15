"""The potting bench: the committed drawing is what its script draws, and its parts go together.

The drawing is read with ezdxf and reckoned with shapely alone; only the fitted parts come from camkit.
"""

import os
import subprocess
import sys
import tomllib
from dataclasses import dataclass, field, replace
from itertools import combinations, pairwise
from pathlib import Path

import ezdxf
import pytest
from ezdxf import path as curves
from ezdxf.document import Drawing
from shapely import LineString, Point, Polygon, box, polygonize, union_all
from shapely.affinity import affine_transform

from camkit.drawing.read import read
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import circle
from camkit.job.load import load
from camkit.joinery.fit import fit

BENCH = Path(__file__).parents[1] / "fixtures" / "potting-bench"
T = 18.0  # drawn thickness


def run_script(to: Path, seed: str) -> Path:
    """The drawing as the script draws it now, in a process of its own."""
    command = [sys.executable, str(BENCH / "draw_bench.py"), str(to)]
    subprocess.run(command, check=True, env={**os.environ, "PYTHONHASHSEED": seed})
    return to


def entities(drawing: Drawing) -> list[tuple[object, ...]]:
    """Kind, layer, text and points of every entity, in the order of the file."""
    rows: list[tuple[object, ...]] = []
    for entity in drawing.modelspace():
        if entity.dxftype() == "TEXT":
            where: object = (entity.dxf.text, *entity.dxf.insert, entity.dxf.rotation)
        else:
            where = [tuple(round(c, 6) for c in p) for p in curves.make_path(entity).flattening(0.05)]
        rows.append((entity.dxftype(), entity.dxf.layer, where))
    return rows


@dataclass
class Piece:
    """A part of the drawing: areas in sheet coordinates."""

    outline: Polygon
    openings: list[Polygon] = field(default_factory=list)
    screws: list[Polygon] = field(default_factory=list)
    pockets: list[Polygon] = field(default_factory=list)

    @property
    def through(self) -> Polygon:
        """What is left over the whole thickness, below every pocket."""
        return self.outline.difference(union_all(self.openings))

    @property
    def surface(self) -> Polygon:
        """What is left of the drawn face."""
        return self.through.difference(union_all(self.pockets))


@pytest.fixture(scope="module")
def drawing() -> Drawing:
    return ezdxf.readfile(BENCH / "bench.dxf")


@pytest.fixture(scope="module")
def pieces(drawing: Drawing) -> dict[str, Piece]:
    """The parts by the name written on them."""
    loops: dict[str, list[Polygon]] = {}
    chains: list[LineString] = []
    for entity in drawing.modelspace().query("LWPOLYLINE CIRCLE LINE ARC SPLINE"):
        points = [(round(p.x, 6), round(p.y, 6)) for p in curves.make_path(entity).flattening(0.005)]
        if entity.dxftype() in ("LWPOLYLINE", "CIRCLE"):
            loops.setdefault(entity.dxf.layer, []).append(Polygon(points))
        else:
            assert entity.dxf.layer == "OUTLINE"
            chains.append(LineString(points))
    loops["OUTLINE"] += polygonize(chains).geoms
    names = {t.dxf.text: Point(t.dxf.insert.x, t.dxf.insert.y) for t in drawing.modelspace().query("TEXT")}
    found = {}
    for name, at in names.items():
        (outline,) = [loop for loop in loops["OUTLINE"] if loop.contains(at)]
        found[name] = Piece(
            outline, *([loop for loop in loops[layer] if loop.intersects(outline)] for layer in FEATURES)
        )
    assert len(found) == len(loops["OUTLINE"]) == 11
    assert sum(len(piece.screws) for piece in found.values()) == len(loops["SCREW 4.5"])
    return found


FEATURES = ("OPENING", "SCREW 4.5", "POCKET 6")


def test_the_committed_drawing_is_what_the_script_draws(drawing: Drawing, tmp_path: Path) -> None:
    fresh = run_script(tmp_path / "bench.dxf", "0")
    assert entities(ezdxf.readfile(fresh)) == entities(drawing)


def test_two_runs_give_the_same_bytes(tmp_path: Path) -> None:
    first = run_script(tmp_path / "one.dxf", "1").read_bytes()
    assert run_script(tmp_path / "two.dxf", "2").read_bytes() == first


def test_the_drawing_says_millimetres_and_shows_the_sheet(drawing: Drawing) -> None:
    assert drawing.header["$INSUNITS"] == 4  # DXF reference: 4 is millimetres
    (sheet,) = drawing.modelspace().query('LWPOLYLINE[layer=="SHEET"]')
    corners = [(x, y) for x, y, *_ in sheet.get_points()]
    assert corners == [(0, 0), (2440, 0), (2440, 1220), (0, 1220)]


def test_the_splash_board_has_true_arcs_and_one_spline(drawing: Drawing) -> None:
    kinds = [entity.dxftype() for entity in drawing.modelspace().query('*[layer=="OUTLINE"]')]
    assert (kinds.count("ARC"), kinds.count("SPLINE")) == (2, 1)


def test_parts_keep_twelve_mm_from_each_other_and_from_the_edge(pieces: dict[str, Piece]) -> None:
    within = box(12, 12, 2440 - 12, 1220 - 12)
    for (a, one), (b, other) in combinations(pieces.items(), 2):
        assert one.outline.distance(other.outline) >= 12 - 1e-6, (a, b)
    for name, piece in pieces.items():
        assert within.contains(piece.outline), name
        assert all(piece.outline.contains(hole) for hole in (*piece.openings, *piece.screws)), name
        for opening in piece.openings:
            assert opening.distance(piece.outline.exterior) >= 12, name


def test_no_cut_comes_near_another_in_the_same_part(pieces: dict[str, Piece]) -> None:
    """Screw holes stand in the middle of a housing or clear of everything by two diameters."""
    for name, piece in pieces.items():
        for a, b in combinations((*piece.openings, *piece.pockets), 2):
            assert a.distance(b) >= T, name
        for screw in piece.screws:
            for pocket in piece.pockets:
                assert pocket.contains(screw) or pocket.distance(screw) >= 9, name
            assert all(opening.distance(screw) >= 9 for opening in piece.openings), name


def test_every_row_of_the_job_points_at_the_part_of_its_name(pieces: dict[str, Piece]) -> None:
    job = tomllib.loads((BENCH / "job.toml").read_text(encoding="utf-8"))
    rows = {row["name"]: Point(row["at"]) for row in job["part"]}
    assert rows.keys() == pieces.keys()
    for name, at in rows.items():
        assert pieces[name].through.contains(at), name
    layers = {layer for row in job["glue_up"] for layer in row["layers"]}
    assert layers == {name for name in pieces if " end, " in name}


@pytest.mark.parametrize(
    ("part", "tenon", "count"), [("top", 70.0, 4)] + [(f"{s} end, {o}", 80.0, 2) for s, o in
    (("left", "outer"), ("left", "inner"), ("right", "inner"), ("right", "outer"))]
)  # fmt: skip
def test_mortises_are_square_a_sheet_wide_and_longer_than_the_tenon(
    pieces: dict[str, Piece], part: str, tenon: float, count: int
) -> None:
    square = [o for o in pieces[part].openings if len(o.exterior.coords) == 5]
    assert len(square) == count
    for mortise in square:
        x0, y0, x1, y1 = mortise.bounds
        assert mortise.area == pytest.approx((x1 - x0) * (y1 - y0))
        assert sorted((x1 - x0, y1 - y0)) == pytest.approx([T, tenon + 0.3])


@pytest.mark.parametrize("name", ["shelf", "left end, inner", "right end, inner"])
def test_a_cutter_of_six_leaves_no_wood_at_the_roots_of_tenons(pieces: dict[str, Piece], name: str) -> None:
    """An unrelieved square root would keep (1 - pi / 4) 3^2 = 1.93 mm2 each and hold the shoulders off."""
    outline = pieces[name].outline
    cut = outline.buffer(3, quad_segs=64).buffer(-3, quad_segs=64)
    assert cut.difference(outline).area < 0.1


@dataclass
class Stands:
    """Where a part stands in the bench put together, worked out by hand.

    X runs to the right from the left end of the top, Y back from the front of the end frames, Z up from the
    floor. The part lies across one axis from `low` to `low + thick`, its drawn face on the `drawn` side.
    `place` takes sheet coordinates to the other two axes, in the order X, Y, Z, as shapely's matrix.
    """

    across: str
    low: float
    drawn: str
    place: tuple[float, ...]
    thick: float = T

    @property
    def axes(self) -> list[str]:
        """The two axes along the part's plane."""
        return [axis for axis in "XYZ" if axis != self.across]

    def section(self, piece: Piece, share: float) -> Polygon:
        """The part's section `share` above its lower face, in the bench's frame."""
        depth = self.thick - share if self.drawn == "high" else share
        return affine_transform(piece.surface if depth < 6 else piece.through, self.place)

    def slices(self) -> list[tuple[float, float]]:
        """Layers between which a pocket 6 deep can end, on whichever face it is."""
        cuts = (0.0, 6.0, self.thick - 6, self.thick)
        return list(pairwise(cuts))


MINUS = (-1, 0, 0, 1)
PLACES = {
    "left end, outer": Stands("X", 39, "high", (1, 0, 0, 1, -14, -14)),
    "left end, inner": Stands("X", 57, "high", (1, 0, 0, 1, -447, -14)),
    "right end, inner": Stands("X", 845, "low", (*MINUS, 880 + 420, -14)),
    "right end, outer": Stands("X", 863, "low", (*MINUS, 1313 + 420, -14)),
    "top": Stands("Z", 832, "high", (0, 1, -1, 0, -14, 2196 - 15)),
    "shelf": Stands("Z", 216, "high", (1, 0, 0, 1, 39 - 14, 70 - 880)),
    "front rail": Stands("Y", 51, "low", (0, 1, -1, 0, 69.1 - 14, 2309 + 732)),
    "back rail": Stands("Y", 351, "low", (0, 1, -1, 0, 69.1 - 14, 2422 + 732)),
    "left stretcher": Stands("X", 266, "high", (1, 0, 0, 1, 15 - 870, 732 - 1060)),
    "right stretcher": Stands("X", 471, "high", (1, 0, 0, 1, 15 - 1280, 732 - 1060)),
    "splash board": Stands("Y", 396, "low", (1, 0, 0, 1, 39 - 870, 850 - 6 - 880)),
}


def overlap(pieces: dict[str, Piece], places: dict[str, Stands], one: str, other: str) -> float:
    """Largest area that two parts claim alike, over several sections through the first one."""
    a, b = places[one], places[other]
    (third,) = set(a.axes) & set(b.axes)
    worst = 0.0
    for share in (0.01, 5, 7, 9, 11, a.thick - 0.01):
        section = a.section(pieces[one], share)
        for low, high in b.slices():
            cut = b.section(pieces[other], (low + high) / 2).intersection(line_at(b, third, a.low + share))
            for run in getattr(cut, "geoms", [cut]):
                if run.length:
                    x0, y0, x1, y1 = run.bounds
                    along = (x0, x1) if b.axes[0] == third else (y0, y1)
                    frame = {third: along, b.across: (b.low + low, b.low + high)}
                    (u0, u1), (v0, v1) = (frame[axis] for axis in a.axes)
                    worst = max(worst, section.intersection(box(u0, v0, u1, v1)).area)
    return worst


def line_at(stands: Stands, third: str, position: float) -> LineString:
    """The line in the part's plane along `third`, at `position` of its other axis."""
    far = 5000.0
    if stands.axes[0] == third:
        return LineString([(-far, position), (far, position)])
    return LineString([(position, -far), (position, far)])


def clashes(pieces: dict[str, Piece], places: dict[str, Stands]) -> list[tuple[str, str]]:
    """Pairs of parts, not parallel, that claim the same wood."""
    return [
        (one, other)
        for one, other in combinations(places, 2)
        if places[one].across != places[other].across and overlap(pieces, places, one, other) > 1e-3
    ]


def test_the_parts_go_together_without_claiming_the_same_wood(pieces: dict[str, Piece]) -> None:
    assert PLACES.keys() == pieces.keys()
    assert not clashes(pieces, PLACES)


def test_a_part_out_of_place_is_noticed(pieces: dict[str, Piece]) -> None:
    shelf = PLACES["shelf"]
    places = {**PLACES, "shelf": replace(shelf, place=(*shelf.place[:5], shelf.place[5] + 1))}
    in_a_third = 6 * (1 - 0.15)  # of the sheet, beside one tenon
    assert overlap(pieces, places, "shelf", "left end, outer") == pytest.approx(in_a_third)


def bounds(pieces: dict[str, Piece], name: str) -> dict[str, tuple[float, float]]:
    """Extent of a part along X, Y and Z."""
    stands = PLACES[name]
    x0, y0, x1, y1 = stands.section(pieces[name], 9).bounds
    first, second = stands.axes
    return {first: (x0, x1), second: (y0, y1), stands.across: (stands.low, stands.low + T)}


def test_tenons_end_flush_and_rails_meet_the_top(pieces: dict[str, Piece]) -> None:
    extent = {name: bounds(pieces, name) for name in pieces}
    assert extent["shelf"]["X"] == pytest.approx((39, 881))  # the outer faces of the end frames
    for side in ("left", "right"):
        assert extent[f"{side} end, inner"]["Z"] == pytest.approx((0, 850))  # through the top, flush
        assert extent[f"{side} end, outer"]["Z"] == pytest.approx((0, 832))
        assert extent[f"{side} stretcher"]["Z"] == pytest.approx((732, 832))
    for rail in ("front rail", "back rail"):
        assert extent[rail]["Z"] == pytest.approx((732, 832))
        assert extent[rail]["X"] == pytest.approx((75 - 5.9, 845 + 5.9))  # 0.1 short of each housing's floor
    assert extent["splash board"]["Z"] == pytest.approx((844, 1004))
    assert extent["top"]["Z"] == (832, 850)


def test_screw_holes_of_both_layers_meet_over_the_middle_of_the_rails(pieces: dict[str, Piece]) -> None:
    rows = {}
    for name in pieces:
        turned = [affine_transform(hole, PLACES[name].place).centroid for hole in pieces[name].screws]
        rows[name] = sorted((round(p.x, 3), round(p.y, 3)) for p in turned)
    wanted = [(y, z) for y in (60.0, 360.0) for z in (757.0, 807.0)]
    assert all(rows[name] == wanted for name in rows if " end, " in name)
    assert sorted({y for _, y in rows["top"]}) == [60.0, 360.0, 405.0]


SHEET = 17.6  # mean of the job's readings
# The ends as the shelf's shoulders hold them, and as the mortises of the top do: 0.2 farther out each.
ENDS_BELOW = {
    "left end, outer": 39.8,
    "left end, inner": 57.4,
    "right end, inner": 845,
    "right end, outer": 862.6,
}
ENDS_ABOVE = {name: low + (-0.2 if "left" in name else 0.2) for name, low in ENDS_BELOW.items()}
MIDDLES = {
    "shelf": 225,
    "front rail": 60,
    "back rail": 360,
    "left stretcher": 275,
    "right stretcher": 480,
    "splash board": 405,
}
LOWS = {"top": 832, **{name: middle - SHEET / 2 for name, middle in MIDDLES.items()}}


@pytest.fixture(scope="module")
def fitted() -> dict[str, Piece]:
    """The parts as camkit cuts them from the sheet that measures 17.6."""
    job = load(BENCH / "job.toml")
    drawn = read(BENCH / "bench.dxf", rules=job.layer_rules())
    rows = [(row.name, Point(row.at or (0, 0))) for row in job.part]
    named = [
        replace(part, name=next(name for name, at in rows if as_polygon(part.region()).contains(at)))
        for part in drawn.parts
    ]
    return {
        part.name: Piece(
            as_polygon(part.outline),
            [as_polygon(loop) for loop in part.openings],
            [as_polygon(circle(hole.centre, hole.diameter)) for hole in part.holes],
            [as_polygon(pocket.outline) for pocket in part.pockets],
        )
        for part in fit(named, job, list(job.sheet) * len(named)).parts
    }


def on_the_sheet(*groups: dict[str, float]) -> dict[str, Stands]:
    """Places of some parts in a bench made from the measured sheet, by their lower faces."""
    lows = {name: low for group in groups for name, low in group.items()}
    places = {name: replace(PLACES[name], low=low, thick=SHEET) for name, low in lows.items()}
    if "splash board" in places:  # it stands in a housing of the top, and the top is thinner
        *rest, up = places["splash board"].place
        places["splash board"] = replace(places["splash board"], place=(*rest, up + SHEET - T))
    return places


def test_the_shelf_goes_into_both_ends_on_the_measured_sheet(fitted: dict[str, Piece]) -> None:
    assert not clashes(fitted, on_the_sheet(ENDS_BELOW, {"shelf": LOWS["shelf"]}))


def test_the_top_goes_straight_on_above_the_shelf(fitted: dict[str, Piece]) -> None:
    upper = {name: low for name, low in LOWS.items() if name != "shelf"}
    assert not clashes(fitted, on_the_sheet(ENDS_BELOW, upper))
    leaning = clashes(fitted, on_the_sheet(ENDS_ABOVE, upper))
    assert ("left end, inner", "top") in leaning


def test_dowels_of_both_layers_of_an_end_meet(fitted: dict[str, Piece]) -> None:
    for side in ("left", "right"):
        outer, inner = (
            sorted(
                (round(p.x, 3), round(p.y, 3))
                for hole in fitted[name].screws
                if hole.bounds[2] - hole.bounds[0] > 6
                for p in [affine_transform(hole, PLACES[name].place).centroid]
            )
            for name in (f"{side} end, outer", f"{side} end, inner")
        )
        assert len(outer) >= 2
        assert outer == inner
