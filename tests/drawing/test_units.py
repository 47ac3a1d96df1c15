"""Which unit a drawing is read in: the header's, the given one, or a guess that is told."""

import math
from collections.abc import Callable
from pathlib import Path

import ezdxf
import pytest
from ezdxf.layouts import Modelspace

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read
from camkit.drawing.sheets import fits_a_sheet, is_a_sheet
from camkit.errors import Finding, InputError
from camkit.geometry.path import signed_area

Draw = Callable[[Modelspace], object]
MM = {"mm": 1.0, "cm": 10.0, "inch": 25.4}


@pytest.fixture
def bare(tmp_path: Path) -> Callable[..., Drawn]:
    """Write only the entities, as programs do that know no header, and read them."""

    def drawn(draw: Draw, header: str = "") -> Drawn:
        document = ezdxf.new("R12")
        draw(document.modelspace())
        whole = tmp_path / "whole.dxf"
        document.saveas(whole)
        text = whole.read_text()
        begin = text.index("  0\nSECTION\n  2\nENTITIES")
        path = tmp_path / "bare.dxf"
        path.write_text(header + text[begin:])
        return read(path)

    return drawn


def shelf_side(scale: float) -> Draw:
    """A side of 800 x 300 mm with three mortises of 18 x 90 and two holes of 8, in a unit of `scale` mm."""

    def draw(space: Modelspace) -> None:
        def box(x0: float, y0: float, x1: float, y1: float) -> None:
            corners = [(x / scale, y / scale) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
            for k in range(4):
                space.add_line(corners[k], corners[(k + 1) % 4])

        box(0, 0, 800, 300)
        for x in (100, 350, 600):
            box(x, 80, x + 18, 170)
        for x in (50, 750):
            space.add_circle((x / scale, 150 / scale), 4 / scale)

    return draw


def told(found: Drawn, rule: str) -> list[Finding]:
    return [finding for finding in found.findings if finding.rule == rule]


@pytest.mark.parametrize(("code", "unit", "scale"), [(1, "inch", 25.4), (4, "mm", 1), (5, "cm", 10)])
def test_insunits_is_believed(tmp_path: Path, code: int, unit: str, scale: float) -> None:
    document = ezdxf.new("R2010", units=code)
    shelf_side(scale)(document.modelspace())
    document.saveas(tmp_path / "f.dxf")
    found = read(tmp_path / "f.dxf")
    assert (found.unit, found.unit_from, found.findings) == (unit, "header", ())
    assert signed_area(found.parts[0].outline) == pytest.approx(240_000)


def test_metres_are_read(tmp_path: Path) -> None:
    document = ezdxf.new("R2010", units=6)
    shelf_side(1000)(document.modelspace())
    document.saveas(tmp_path / "f.dxf")
    found = read(tmp_path / "f.dxf")
    assert (found.unit, found.unit_from) == ("m", "header")
    assert signed_area(found.parts[0].outline) == pytest.approx(240_000)


@pytest.mark.parametrize("unit", ["mm", "cm"])
def test_a_missing_unit_is_guessed_and_told(bare: Callable[..., Drawn], unit: str) -> None:
    found = bare(shelf_side(MM[unit]))
    assert (found.unit, found.unit_from) == (unit, "guessed")
    assert signed_area(found.parts[0].outline) == pytest.approx(240_000)
    (warning,) = told(found, "unit-guessed")
    assert warning.level == "warning"
    assert "--unit" in warning.remedy and "[drawings]" in warning.remedy


def test_sixteenths_tell_inches(bare: Callable[..., Drawn]) -> None:
    def draw(space: Modelspace) -> None:
        def box(x0: float, y0: float, x1: float, y1: float) -> None:
            corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
            for k in range(4):
                space.add_line(corners[k], corners[(k + 1) % 4])

        box(0, 0, 31.5, 11.8125)
        for x in (4, 14, 24):
            box(x, 3, x + 0.71875, 6.5625)

    found = bare(draw)
    assert (found.unit, found.unit_from) == ("inch", "guessed")
    assert "32nds of an inch" in told(found, "unit-guessed")[0].message


def test_a_header_that_cannot_be_right_is_not_believed(tmp_path: Path) -> None:
    """800 m of furniture: the numbers are mm."""
    document = ezdxf.new("R2010", units=6)
    shelf_side(1)(document.modelspace())
    document.saveas(tmp_path / "f.dxf")
    found = read(tmp_path / "f.dxf")
    assert (found.unit, found.unit_from) == ("mm", "guessed")
    assert "header says m" in told(found, "unit-guessed")[0].message


def test_small_parts_in_mm_are_believed(tmp_path: Path) -> None:
    """A tag of 60 x 20 mm with a slot of 1.5 mm: odd, but the header says mm and nothing else fits better."""
    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (60, 0), (60, 20), (0, 20)], close=True)
    space.add_lwpolyline([(5, 5), (6.5, 5), (6.5, 15), (5, 15)], close=True)
    document.saveas(tmp_path / "f.dxf")
    found = read(tmp_path / "f.dxf")
    assert (found.unit, found.unit_from) == ("mm", "header")
    assert [finding.rule for finding in found.findings] == ["unit-doubtful"]


@pytest.mark.parametrize("unit", ["mm", "cm", "inch"])
def test_a_given_unit_overrules_everything(tmp_path: Path, unit: str) -> None:
    document = ezdxf.new("R2010", units=6)
    document.modelspace().add_circle((0, 0), 10)
    document.saveas(tmp_path / "f.dxf")
    found = read(tmp_path / "f.dxf", unit=unit)
    assert (found.unit, found.unit_from) == (unit, "given")
    assert signed_area(found.parts[0].outline) == pytest.approx(math.pi * (10 * MM[unit]) ** 2)


def test_the_unit_changes_nothing_but_the_size(tmp_path: Path) -> None:
    found = []
    for code, scale in ((4, 1.0), (5, 10.0), (1, 25.4)):
        document = ezdxf.new("R2010", units=code)
        space = document.modelspace()
        space.add_ellipse((0, 0), (150 / scale, 0), 0.5)
        space.add_lwpolyline([(-20 / scale, 0, 1), (20 / scale, 0, 1)], format="xyb", close=True)
        document.saveas(tmp_path / "f.dxf")
        found.append(read(tmp_path / "f.dxf").parts[0])
    for part in found[1:]:
        assert len(part.outline.segments) == len(found[0].outline.segments)
        assert signed_area(part.outline) == pytest.approx(signed_area(found[0].outline), rel=1e-9)
        assert part.holes[0].diameter == pytest.approx(40)


def test_sheets_on_the_market_are_known_in_either_direction() -> None:
    """4 x 8 feet is 1219.2 x 2438.4 mm."""
    assert is_a_sheet(1219.2, 2438.4) == (2440, 1220)
    assert is_a_sheet(1219.2, 2000) is None
    assert fits_a_sheet(2413, 1194) == (2440, 1220)
    assert fits_a_sheet(2413, 900) is None


def test_an_svg_without_size_is_guessed_where_one_unit_can_be(tmp_path: Path) -> None:
    """8000 mm, cm or inches cannot be; the standard's px of 1/96 inch can."""
    path = tmp_path / "f.svg"
    path.write_text('<svg xmlns="http://www.w3.org/2000/svg"><rect width="8000" height="8000"/></svg>')
    found = read(path)
    assert (found.unit, found.unit_from) == ("px", "guessed")
    assert signed_area(found.parts[0].outline) == pytest.approx((8000 * 25.4 / 96) ** 2)


def test_a_lone_square_in_an_svg_without_size_is_asked_about(tmp_path: Path) -> None:
    """1500 mm is a sheet of birch plywood, 1500 px are 397 mm."""
    path = tmp_path / "f.svg"
    path.write_text('<svg xmlns="http://www.w3.org/2000/svg"><rect width="1500" height="1500"/></svg>')
    with pytest.raises(InputError, match=r"in mm \(.*1500 x 1500 mm.* or px \(.*396.9 x 396.9 mm") as caught:
        read(path)
    assert "for px give the page a width and height" in caught.value.findings[0].remedy
