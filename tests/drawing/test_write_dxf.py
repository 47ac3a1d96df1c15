"""A drawing written as DXF: reads back as the same parts, in any reader with the same figures."""

from __future__ import annotations

import math
import pathlib
from dataclasses import replace

import ezdxf
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from support.places import DEMO
from support.random_shapes import random_region

from camkit.drawing.drawn import Drawn
from camkit.drawing.label_words import is_note, is_quantity
from camkit.drawing.read import read
from camkit.drawing.sketch import Label
from camkit.drawing.write_dxf import dxf_rules, dxf_text
from camkit.geometry.flatten import flattened
from camkit.geometry.measure import length
from camkit.geometry.path import Arc, Line, Path, circle, oriented, rectangle, signed_area
from camkit.geometry.transform import Placement, moved
from camkit.job.load import load
from camkit.part import Hole, Part, Pocket

REAL = pathlib.Path(__file__).parents[3] / "shared" / "drawings"
WITHIN = 1e-6


def slot(x: float, y: float, long: float, wide: float) -> Path:
    """A slot with round ends, its middle at (x, y)."""
    r, half = wide / 2, (long - wide) / 2
    a, b, c, d = (x - half, y - r), (x + half, y - r), (x + half, y + r), (x - half, y + r)
    return Path((Line(a, b), Arc(b, c, (x + half, y), False), Line(c, d), Arc(d, a, (x - half, y), False)))


SHELF = Part(
    "shelf, left",
    rectangle(0, 0, 600, 300),
    openings=(oriented(slot(100, 150, 60, 18), clockwise=True), circle((300, 150), 80)),
    holes=(Hole((500, 150), 8.0), Hole((520, 150), 5.0, 10.0), Hole((540, 150), 5.0, 12.5)),
    pockets=(
        Pocket(rectangle(200, 40, 250, 90), 6.0, (circle((225, 65), 12),)),
        Pocket(slot(400, 60, 90, 20), 3.2),
    ),
)
ROUND = Part("part 2", circle((800, 200), 150))
BENCH = Drawn("bench.dxf", "mm", "header", (SHELF, ROUND), rectangle(-10, -10, 1200, 500))


def again(drawn: Drawn, folder: pathlib.Path) -> Drawn:
    """Written, and read with the rules that belong to it."""
    place = folder / "clean.dxf"
    place.write_text(dxf_text(drawn), encoding="utf-8")
    return read(place, rules=dxf_rules(drawn))


def assert_same_loop(a: Path, b: Path) -> None:
    """One closed curve: as long, as large, turning alike, and every point of one near the other."""
    assert length(a) == pytest.approx(length(b), abs=WITHIN * len(a.segments))
    assert signed_area(a) == pytest.approx(signed_area(b), abs=WITHIN * length(a))
    rings = [shapely.LinearRing(flattened(path, 0.0005)) for path in (a, b)]
    # Chords of 0.0005 are laid on both alike, so that what remains between them is the curves' distance.
    assert shapely.hausdorff_distance(*rings) <= 0.0005 + WITHIN
    corners = [shapely.MultiPoint([s.start for s in path.segments]) for path in (a, b)]
    if len(a.segments) == len(b.segments) and a.start == b.start:
        assert shapely.hausdorff_distance(*corners) <= WITHIN


def assert_same_parts(a: Drawn, b: Drawn) -> None:
    assert [p.name for p in b.parts] == [p.name for p in a.parts]
    for one, two in zip(a.parts, b.parts, strict=True):
        assert [len(one.openings), len(one.pockets)] == [len(two.openings), len(two.pockets)]
        assert_same_loop(one.outline, two.outline)
        for x, y in zip(one.openings, two.openings, strict=True):
            assert_same_loop(oriented(x), oriented(y))
        assert sorted(h.depth or 0.0 for h in one.holes) == sorted(h.depth or 0.0 for h in two.holes)
        for h, k in zip(one.holes, two.holes, strict=True):
            assert math.dist(h.centre, k.centre) <= WITHIN and abs(h.diameter - k.diameter) <= WITHIN
        key = [(p.depth, len(p.islands)) for p in one.pockets]
        assert key == [(p.depth, len(p.islands)) for p in two.pockets]
        for p, q in zip(one.pockets, two.pockets, strict=True):
            for x, y in zip((p.outline, *p.islands), (q.outline, *q.islands), strict=True):
                assert_same_loop(oriented(x), oriented(y))
    assert (a.sheet_edge is None) == (b.sheet_edge is None)
    if a.sheet_edge is not None and b.sheet_edge is not None:
        assert_same_loop(oriented(a.sheet_edge), oriented(b.sheet_edge))


def test_what_is_written_reads_back_as_the_same_parts(tmp_path: pathlib.Path) -> None:
    back = again(BENCH, tmp_path)
    assert_same_parts(BENCH, back)
    assert (back.unit, back.unit_from) == ("mm", "header")
    assert [f.rule for f in back.findings if f.level != "note"] == []


@pytest.mark.parametrize(
    "name",
    [
        "case-mirrored.dxf",
        "cover-splines.dxf",
        "desk-2004.dxf",
        "desk-cm.dxf",
        "desk-fillets-mm.dxf",
        "desk-line-soup.dxf",
        "enclosure-circles.dxf",
        "front-plate.svg",
        "rack-inches.dxf",
    ],
)
def test_published_drawings_survive_being_written(tmp_path: pathlib.Path, name: str) -> None:
    if not (REAL / name).exists():
        pytest.skip("the published drawings are not here")
    drawn = read(REAL / name)
    assert_same_parts(drawn, again(drawn, tmp_path))


def test_the_bench_survives_with_its_pockets_holes_border_and_names(tmp_path: pathlib.Path) -> None:
    drawn = read(DEMO.with_name("bench.dxf"), rules=load(DEMO).layer_rules())
    assert drawn.sheet_edge is not None and any(part.pockets for part in drawn.parts)
    assert_same_parts(drawn, again(drawn, tmp_path))


def test_random_outlines_of_lines_and_arcs_survive(tmp_path: pathlib.Path) -> None:
    shapes = [shape for shape in map(random_region, range(120)) if shape is not None]
    parts = []
    for number, shape in enumerate(shapes):
        spot = Placement(200.0 * (number % 10), 200.0 * (number // 10))
        parts.append(Part(f"part {number + 1}", moved(shape.exterior, spot)))
    parts.sort(key=lambda part: (round(part.bounds()[1], 2), round(part.bounds()[0], 2)))
    named = tuple(replace(part, name=f"part {k}") for k, part in enumerate(parts, start=1))
    drawn = Drawn("random.dxf", "mm", "header", named)
    assert len(named) > 40
    assert_same_parts(drawn, again(drawn, tmp_path))


def test_bulges_are_the_arcs_that_were_meant(tmp_path: pathlib.Path) -> None:
    """The loader's own arcs of a slot of 60 x 18 about (100, 150): two half circles of radius 9."""
    (tmp_path / "clean.dxf").write_text(dxf_text(BENCH), encoding="utf-8")
    document = ezdxf.readfile(tmp_path / "clean.dxf")
    (found,) = [e for e in document.modelspace().query("LWPOLYLINE") if e.dxf.layer == "opening"]
    arcs = [e for e in found.virtual_entities() if e.dxftype() == "ARC"]
    assert sorted(round(arc.dxf.center.x, 9) for arc in arcs) == [79, 121]
    for arc in arcs:
        assert arc.dxf.radius == pytest.approx(9, abs=1e-9)
        assert (arc.dxf.end_angle - arc.dxf.start_angle) % 360 == pytest.approx(180)
    assert found.is_closed and not document.audit().has_errors


def test_units_layers_and_kinds_are_as_the_format_wants_them(tmp_path: pathlib.Path) -> None:
    """$INSUNITS 4 is mm, $MEASUREMENT 1 is metric (DXF reference, HEADER section)."""
    (tmp_path / "clean.dxf").write_text(dxf_text(BENCH), encoding="utf-8")
    document = ezdxf.readfile(tmp_path / "clean.dxf")
    header = document.header
    assert (document.dxfversion, header["$INSUNITS"], header["$MEASUREMENT"]) == ("AC1024", 4, 1)
    drawn = {(e.dxftype(), e.dxf.layer) for e in document.modelspace()}
    assert drawn == {
        ("LWPOLYLINE", "outline"),
        ("CIRCLE", "outline"),
        ("LWPOLYLINE", "opening"),
        ("CIRCLE", "opening"),
        ("CIRCLE", "hole"),
        ("CIRCLE", "hole 10 deep"),
        ("CIRCLE", "hole 12.5 deep"),
        ("LWPOLYLINE", "pocket 6"),
        ("CIRCLE", "pocket 6"),
        ("LWPOLYLINE", "pocket 3.2"),
        ("LWPOLYLINE", "sheet edge"),
        ("TEXT", "name"),
    }
    colours = [document.layers.get(layer).color for layer in {layer for _, layer in drawn}]
    assert len(set(colours)) == len(colours)
    assert header["$EXTMIN"][:2] == (-10, -10) and header["$EXTMAX"][:2] == (1200, 500)


def test_the_same_drawing_gives_the_same_bytes() -> None:
    one = dxf_text(BENCH)
    assert one == dxf_text(BENCH)
    assert one.startswith("999\nwritten by camkit\n") and ezdxf.__version__ + " @" not in one
    assert "20" + "26-" not in one


def test_a_drawing_without_parts_is_still_a_file(tmp_path: pathlib.Path) -> None:
    nothing = Drawn("empty.dxf", "mm", "given", ())
    assert dxf_rules(nothing) == ()
    assert again(nothing, tmp_path).parts == ()


def test_a_name_stands_on_wood_of_its_own_part_where_parts_overlap(tmp_path: pathlib.Path) -> None:
    left = Part("left", rectangle(0, 0, 100, 100))
    right = Part("right", rectangle(40, 0, 200, 100))
    drawn = Drawn("two.dxf", "mm", "header", (left, right))
    assert [p.name for p in again(drawn, tmp_path).parts] == ["left", "right"]


def _is_a_name(text: str) -> bool:
    """Whether reading would take the text for a name, so that a part may be called so."""
    return bool(text) and "%%" not in text and not (is_note(Label(text, (0, 0), "")) or is_quantity(text))


SIGNS = st.text(
    st.characters(min_codepoint=32, max_codepoint=0x24F, categories=["L", "N", "P", "S", "Zs"]),
    min_size=1,
    max_size=40,
)


@settings(derandomize=True, deadline=None, max_examples=40)
@given(SIGNS.map(lambda text: " ".join(text.split())).filter(lambda text: _is_a_name(text)))
def test_any_name_survives(tmp_path_factory: pytest.TempPathFactory, name: str) -> None:
    drawn = Drawn("one.dxf", "mm", "header", (Part(name, rectangle(0, 0, 100, 100)),))
    assert again(drawn, tmp_path_factory.mktemp("name")).parts[0].name == name


@settings(derandomize=True, deadline=None, max_examples=40)
@given(
    st.floats(20, 3000),
    st.floats(1e-3, 2 * math.pi - 0.2),
    st.floats(0, 2 * math.pi),
    st.booleans(),
    st.tuples(st.floats(-5000, 5000), st.floats(-5000, 5000)),
)
def test_any_arc_keeps_its_place_and_bow(
    tmp_path_factory: pytest.TempPathFactory,
    radius: float,
    sweep: float,
    first: float,
    clockwise: bool,
    centre: tuple[float, float],
) -> None:
    """The area of a segment of a circle is r^2 (sweep - sin sweep) / 2."""
    last = first - sweep if clockwise else first + sweep
    start, end = ((centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in (first, last))
    bow = Path((Arc(start, end, centre, clockwise), Line(end, start)))
    area = radius**2 * (sweep - math.sin(sweep)) / 2
    if area < 400:
        return
    drawn = Drawn("bow.dxf", "mm", "header", (Part("bow", oriented(bow)),))
    (back,) = again(drawn, tmp_path_factory.mktemp("bow")).parts
    assert signed_area(back.outline) == pytest.approx(area, abs=1e-6 * radius)
    arcs = [s for s in back.outline.segments if isinstance(s, Arc)]
    assert all(math.dist(s.centre, centre) < 1e-6 * max(1, radius / sweep**2 * 1e-3) for s in arcs)


def test_read_without_a_job_its_layers_offer_the_depths_that_they_have(tmp_path: pathlib.Path) -> None:
    (tmp_path / "clean.dxf").write_text(dxf_text(BENCH), encoding="utf-8")
    back = read(tmp_path / "clean.dxf")
    deep = {rule for rule in dxf_rules(BENCH) if rule.depth is not None}
    assert {rule for rule in back.offers if rule.depth is not None} == deep


def test_rules_say_what_each_layer_means() -> None:
    said = {rule.pattern: (rule.meaning, rule.depth) for rule in dxf_rules(replace(BENCH, sheet_edge=None))}
    assert said == {
        "outline": ("profile", None),
        "opening": ("opening", None),
        "hole": ("hole", None),
        "pocket 3.2": ("pocket", 3.2),
        "pocket 6": ("pocket", 6.0),
        "hole 10 deep": ("hole", 10.0),
        "hole 12.5 deep": ("hole", 12.5),
        "name": ("ignore", None),
    }
