"""Headers that are absent, wrong or in contradiction: weighed, told, and asked about where that is honest.

$INSUNITS: 1 inch, 4 mm, 5 cm, 6 m, 7 km; $MEASUREMENT: 0 imperial, 1 metric (DXF reference, HEADER section).
What furniture of plywood is like: common practice, no source.
"""

import json
import random
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from support.habits import INSUNITS, MM, Shapes, dxf_text, random_shapes

from camkit.cli import main
from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read
from camkit.errors import Finding, InputError
from camkit.geometry.measure import bounds
from camkit.geometry.path import signed_area

Read = Callable[..., Drawn]
DRAWINGS = Path(__file__).parents[3] / "shared" / "drawings"
SQUARE = Shapes(((0, 0, 48, 48),), (), 48)
JOB = """
[sheet]
size = [800, 600]
measured_thickness = 12
[[cutter]]
number = 1
diameter = 6
[drawings]
files = ["square.dxf"]
unit = "cm"
"""
PANEL = Shapes(((0, 0, 30, 12),), ((2, 6, 0.25), (28, 6, 0.25)), 30)


def shelf(unit_mm: float, away: float = 0) -> Shapes:
    """A side of 800 x 300 mm with three mortises of 18 x 90 and two holes of 8."""
    boxes = ((0, 0, 800, 300), (100, 80, 118, 170), (350, 80, 368, 170), (600, 80, 618, 170))
    circles = ((50, 150, 8), (750, 150, 8))
    return Shapes(
        tuple(
            (x0 / unit_mm + away, y0 / unit_mm, x1 / unit_mm + away, y1 / unit_mm) for x0, y0, x1, y1 in boxes
        ),
        tuple((x / unit_mm + away, y / unit_mm, d / unit_mm) for x, y, d in circles),
        800 / unit_mm,
    )


@pytest.fixture
def dxf_of(tmp_path: Path) -> Read:
    def drawn(shapes: Shapes, insunits: int | None = None, measurement: int | None = None) -> Drawn:
        said = {"$INSUNITS": insunits, "$MEASUREMENT": measurement}
        path = tmp_path / "drawing.dxf"
        path.write_text(dxf_text(shapes, [(k, v) for k, v in said.items() if v is not None]))
        return read(path)

    return drawn


@pytest.fixture
def svg_of(tmp_path: Path) -> Read:
    def drawn(shapes: Shapes, head: str = "") -> Drawn:
        boxes = "".join(
            f'<rect x="{x0:.4f}" y="{y0:.4f}" width="{x1 - x0:.4f}" height="{y1 - y0:.4f}"/>'
            for x0, y0, x1, y1 in shapes.boxes
        )
        circles = "".join(
            f'<circle cx="{x:.4f}" cy="{y:.4f}" r="{d / 2:.4f}"/>' for x, y, d in shapes.circles
        )
        group = f'<g fill="none" stroke="black">{boxes}{circles}</g>'
        path = tmp_path / "drawing.svg"
        path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{group}</svg>')
        return read(path)

    return drawn


def told(found: Drawn, rule: str) -> Finding:
    (finding,) = [f for f in found.findings if f.rule == rule]
    return finding


def length(found: Drawn) -> float:
    x0, _, x1, _ = bounds(found.parts[0].outline)
    return x1 - x0


def test_a_lone_square_of_48_is_asked_about(dxf_of: Read) -> None:
    """48 mm, or the width of a sheet of 4 x 8 feet, or 480 mm drawn in cm."""
    with pytest.raises(InputError, match="may be drawn in") as caught:
        dxf_of(SQUARE)
    (finding,) = caught.value.findings
    assert (finding.level, finding.rule) == ("error", "unit-unclear")
    for said in ("48 x 48 mm", "1219 x 1219 mm", "480 x 480 mm"):
        assert said in finding.message
    assert "--unit mm" in finding.remedy and 'unit = "mm" under [drawings]' in finding.remedy


def test_the_question_ends_with_status_2_and_the_answer_goes_on_the_command_or_in_the_job(
    tmp_path: Path,
) -> None:
    path = tmp_path / "square.dxf"
    path.write_text(dxf_text(SQUARE))
    asked = CliRunner().invoke(main, ["inspect", str(path)])
    assert asked.exit_code == 2 and "--unit mm" in asked.stderr
    answered = CliRunner().invoke(main, ["inspect", str(path), "--unit", "inch", "--json"])
    (drawing,) = json.loads(answered.stdout)["drawings"]
    assert (drawing["unit"], drawing["unit_from"]) == ("inch", "given")
    assert drawing["parts"][0]["area_mm2"] == pytest.approx(1219.2**2)
    job = tmp_path / "job.toml"
    job.write_text(JOB)
    answered = CliRunner().invoke(main, ["inspect", str(path), "--job", str(job), "--json"])
    assert json.loads(answered.stdout)["drawings"][0]["parts"][0]["area_mm2"] == pytest.approx(480**2)


def test_a_panel_of_30_by_12_is_asked_about_unless_its_system_is_stated(dxf_of: Read) -> None:
    """762 x 305 mm with holes of 6.35, or 300 x 120 mm with holes of 2.5; never holes of 0.25 mm."""
    with pytest.raises(InputError, match=r"drawn in inch \(.*762 x 304.8 mm.* or cm \(.*300 x 120 mm"):
        dxf_of(PANEL)
    found = dxf_of(PANEL, measurement=0)
    assert (found.unit, found.unit_from) == ("inch", "guessed")
    assert "imperial ($MEASUREMENT)" in told(found, "unit-guessed").message


def test_lines_without_a_closed_loop_are_not_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "open.dxf"
    head, *lines = dxf_text(SQUARE).split("0\nLINE\n")
    path.write_text("0\nLINE\n".join((head, *lines[:2])) + "0\nENDSEC\n0\nEOF\n")
    found = read(path)
    assert [f.rule for f in found.findings if f.level == "error"] == ["no-outline"]


@pytest.mark.parametrize("unit", ["mm", "cm", "m"])
def test_without_a_header_slots_and_holes_tell_the_unit(dxf_of: Read, unit: str) -> None:
    found = dxf_of(shelf({"m": 1000.0, **MM}[unit]))
    assert (found.unit, found.unit_from) == (unit, "guessed")
    assert signed_area(found.parts[0].outline) == pytest.approx(240_000)
    message = told(found, "unit-guessed").message
    assert "800 x 300 mm" in message and "slots of 18 mm" in message


@pytest.mark.parametrize(
    ("unit", "insunits", "measurement", "unit_from"),
    [("mm", 1, 1, "guessed"), ("mm", 4, 0, "header"), ("inch", 1, 1, "header"), ("inch", 4, 0, "guessed")],
)
def test_of_two_headers_the_one_that_suits_the_drawing_is_believed(
    dxf_of: Read, unit: str, insunits: int, measurement: int, unit_from: str
) -> None:
    boxes = ((0, 0, 31.5, 11.8125), (4, 3, 4.71875, 6.5625), (14, 3, 14.71875, 6.5625))
    shapes = shelf(1) if unit == "mm" else Shapes(boxes, ((1.25, 6, 0.3125),), 31.5)
    found = dxf_of(shapes, insunits, measurement)
    assert (found.unit, found.unit_from) == (unit, unit_from)
    assert length(found) == pytest.approx(shapes.length * MM[unit])
    finding = told(found, "unit-contradiction")
    names = ({1: "inch", 4: "mm"}[insunits], {0: "imperial", 1: "metric"}[measurement])
    assert finding.level == "warning"
    assert f"$INSUNITS says {names[0]}, $MEASUREMENT says {names[1]}" in finding.message


def test_headers_that_agree_are_not_spoken_about(dxf_of: Read) -> None:
    assert dxf_of(shelf(1), 4, 1).findings == ()


def test_two_headers_and_a_drawing_that_suits_both_are_asked_about(dxf_of: Read) -> None:
    with pytest.raises(InputError, match=r"\$INSUNITS says inch, \$MEASUREMENT says metric, and it may be"):
        dxf_of(SQUARE, 1, 1)


@pytest.mark.parametrize(("insunits", "name"), [(6, "m"), (7, "km"), (1, "inch"), (5, "cm")])
@pytest.mark.parametrize("away", [0, 200_000])
def test_a_wrong_header_is_found_out_however_far_out_it_puts_the_drawing(
    dxf_of: Read, insunits: int, name: str, away: float
) -> None:
    found = dxf_of(shelf(1, away), insunits)
    assert (found.unit, found.unit_from) == ("mm", "guessed")
    assert length(found) == pytest.approx(800)
    assert f"the header says {name} ($INSUNITS), but then" in told(found, "unit-guessed").message


def test_small_numbers_keep_their_slots_and_holes_while_the_unit_is_weighed(dxf_of: Read) -> None:
    """0.8 x 0.3 with slots of 0.018 is in metres, whatever the header says."""
    found = dxf_of(shelf(1000), 4)
    assert (found.unit, found.unit_from) == ("m", "guessed")
    assert len(found.parts[0].openings) == 3 and len(found.parts[0].holes) == 2


def test_small_numbers_far_from_the_origin_are_weighed_as_well_as_can_be(dxf_of: Read) -> None:
    """A hundred times finer, the second look would put this part 20 km out."""
    boxes = ((0, 0, 12.5, 8.0625), (3, 2, 3.71875, 5.5), (8, 2, 8.71875, 5.5))
    away = 200_000
    far = Shapes(tuple((x0 + away, y0, x1 + away, y1) for x0, y0, x1, y1 in boxes), (), 12.5)
    found = dxf_of(far)
    assert found.unit == "inch"
    assert length(found) == pytest.approx(317.5, abs=1e-3)


def test_a_header_that_is_possible_but_suits_badly_is_asked_about(dxf_of: Read) -> None:
    """2286 mm long with openings of 152 x 457 mm and holes of 102; 90 mm with slots of 6 and holes of 4."""
    shapes = Shapes(((0, 0, 90, 40), (10, 10, 28, 16), (50, 10, 68, 16)), ((5, 5, 4), (85, 5, 4)), 90)
    with pytest.raises(InputError, match=r"header says inch .* another unit suits the drawing better"):
        dxf_of(shapes, 1)


@pytest.mark.parametrize(("scale", "unit"), [(1.0, "mm"), (10.0, "cm"), (25.4 / 96, "px")])
def test_an_svg_without_a_size_is_weighed_too(svg_of: Read, scale: float, unit: str) -> None:
    for head in ("", 'width="100%" height="100%"'):
        found = svg_of(shelf(scale), head)
        assert (found.unit, found.unit_from) == (unit, "guessed")
        assert length(found) == pytest.approx(800, abs=0.01)


@pytest.mark.parametrize(
    ("density", "better"),
    [(96, None), (72, "px at 72 to the inch"), (90, "px at 90 to the inch"), (25.4, "mm")],
)
def test_px_are_read_by_the_standard_and_a_density_that_suits_better_is_told(
    svg_of: Read, density: float, better: str | None
) -> None:
    """96 px to the inch (CSS 2.1, 4.3.2); other densities only when the maker says so."""
    shapes = shelf(25.4 / density)
    found = svg_of(shapes, f'width="{shapes.length}px" height="{shapes.boxes[0][3]}px"')
    assert (found.unit, found.unit_from) == ("px", "header")
    assert length(found) == pytest.approx(800 * density / 96, abs=0.01)
    finding = told(found, "unit-px")
    assert finding.level == ("warning" if better else "note")
    assert (f"{better} suits better" in finding.message) == (better is not None)


def test_millimetres_without_a_view_box_leave_the_numbers_px(svg_of: Read) -> None:
    """SVG 1.1, 7.2: without a viewBox one user unit is one px, whatever width and height are in."""
    found = svg_of(shelf(1), 'width="800mm" height="300mm"')
    assert length(found) == pytest.approx(800 * 25.4 / 96)
    assert "in mm, but no viewBox" in told(found, "unit-px").message
    assert told(found, "unit-px").level == "warning"


@pytest.mark.parametrize(("aspect", "width"), [("none", 1600), ("xMidYMid", 800), ("xMinYMin slice", 1600)])
def test_a_page_with_two_scales_is_told(svg_of: Read, aspect: str, width: float) -> None:
    head = f'width="1600mm" height="300mm" viewBox="0 0 800 300" preserveAspectRatio="{aspect}"'
    found = svg_of(shelf(1), head)
    assert length(found) == pytest.approx(width)
    finding = told(found, "unit-uneven")
    assert finding.level == "warning"
    assert "by its width one unit of the viewBox is 2 mm, by its height 1 mm" in finding.message
    assert ("stretched" in finding.message) == (aspect == "none")


PUBLISHED = {
    "case-middle-plate.dxf": ("mm", "guessed"),
    "case-mirrored.dxf": ("mm", "header"),
    "case-projected-solid.dxf": ("mm", "guessed"),
    "cover-splines.dxf": ("mm", "guessed"),
    "desk-2004.dxf": ("mm", "header"),
    "desk-cm.dxf": ("cm", "guessed"),
    "desk-fillets-mm.dxf": ("mm", "guessed"),
    "desk-line-soup.dxf": ("mm", "guessed"),
    "enclosure-circles.dxf": ("mm", "header"),
    "enclosure-older.dxf": ("mm", "guessed"),
    "front-plate.dxf": ("mm", "header"),
    "front-plate.svg": ("mm", "header"),
    "rack-inches.dxf": ("inch", "guessed"),
    "rack-inches.svg": ("inch", "guessed"),
}


@pytest.mark.skipif(not DRAWINGS.is_dir(), reason="the published drawings lie beside the repository")
@pytest.mark.parametrize("name", PUBLISHED)
def test_published_drawings_keep_their_unit(name: str) -> None:
    """As their makers' notes beside them say."""
    found = read(DRAWINGS / name)
    assert (found.unit, found.unit_from) == PUBLISHED[name]


@settings(derandomize=True, deadline=None, max_examples=40)
@given(st.integers(0, 10**6), st.sampled_from(sorted(MM)))
def test_random_parts_are_read_rightly_by_their_header_and_without_one_never_silently_wrong(
    tmp_path_factory: pytest.TempPathFactory, seed: int, unit: str
) -> None:
    shapes = random_shapes(random.Random(seed), unit)
    path = tmp_path_factory.getbasetemp() / "random.dxf"
    path.write_text(dxf_text(shapes, [("$INSUNITS", INSUNITS[unit])]))
    found = read(path)
    assert (found.unit, found.unit_from) == (unit, "header")
    lengths = {round(x1 - x0, 3) for x0, _, x1, _ in (bounds(part.outline) for part in found.parts)}
    assert round(shapes.length * MM[unit], 3) in lengths
    path.write_text(dxf_text(shapes))
    try:
        found = read(path)
    except InputError as asked:
        assert [finding.rule for finding in asked.findings] == ["unit-unclear"]
        assert f"{unit} (" in str(asked)
    else:
        assert found.unit == unit
        assert told(found, "unit-guessed").level == "warning"
