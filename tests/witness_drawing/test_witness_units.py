"""Units: stated, contradicted, guessed with reason, or asked for."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from ezdxf.layouts import Modelspace

from camkit.drawing.drawn import Drawn
from camkit.errors import InputError

ReadDxf = Callable[..., Drawn]
ReadSvg = Callable[..., Drawn]
RECTANGLE = '<rect x="10" y="10" width="150" height="60" fill="none" stroke="black"/>'


def plate(w: float, h: float, hole: float) -> Callable[[Modelspace], None]:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0), (w, 0), (w, h), (0, h)], close=True)
        space.add_circle((w / 2, h / 2), hole / 2)

    return draw


def width(drawn: Drawn) -> float:
    x0, _, x1, _ = drawn.parts[0].bounds()
    return float(x1 - x0)


# $INSUNITS: 1 inch, 2 foot, 4 mm, 5 cm, 6 m (DXF reference, HEADER section)
@pytest.mark.parametrize(("insunits", "mm"), ((1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0)))
def test_the_header_counts(read_dxf: ReadDxf, insunits: int, mm: float) -> None:
    drawn = read_dxf(plate(600 / mm, 300 / mm, 10 / mm), insunits)
    assert width(drawn) == pytest.approx(600.0)
    assert drawn.unit_from == "header"
    assert [f for f in drawn.findings if f.level != "note"] == []


def test_two_headers_that_contradict_each_other_are_told(read_dxf: ReadDxf) -> None:
    drawn = read_dxf(plate(600, 300, 10), 4, measurement=0)
    assert width(drawn) == pytest.approx(600.0)
    told = " ".join(str(f) for f in drawn.findings if f.rule.startswith("unit"))
    assert "$INSUNITS" in told and "$MEASUREMENT" in told


def test_two_headers_that_leave_two_units_plausible_are_asked_about(read_dxf: ReadDxf) -> None:
    # 23.6 x 11.8 with a hole of 0.39: a plate of 600 x 300 mm in inches, or one of 236 x 118 in centimetres.
    with pytest.raises(InputError, match=r"\$INSUNITS says inch, \$MEASUREMENT says metric") as caught:
        read_dxf(plate(600 / 25.4, 300 / 25.4, 10 / 25.4), 1, measurement=1)
    assert "inch" in str(caught.value) and "cm" in str(caught.value)


def test_a_page_without_a_size_is_asked_about(read_svg: ReadSvg) -> None:
    with pytest.raises(InputError, match="unit"):
        read_svg(RECTANGLE, 'viewBox="0 0 200 100"')


@pytest.mark.parametrize("size", ((12.5, 8, 0.5), (60, 40, 1.5)))
def test_two_plausible_units_are_asked_for_naming_both(
    read_dxf: ReadDxf, size: tuple[float, float, float]
) -> None:
    with pytest.raises(InputError, match=r"unit") as caught:
        read_dxf(plate(*size), None)
    named = [unit for unit in ("mm", "cm", "inch") if unit in str(caught.value)]
    assert len(named) >= 2


@pytest.mark.parametrize("size", ((12.5, 8, 0.5), (60, 40, 1.5)))
@pytest.mark.parametrize(("unit", "mm"), (("mm", 1.0), ("cm", 10.0), ("inch", 25.4)))
def test_a_unit_that_is_given_ends_all_guessing(
    read_dxf: ReadDxf, size: tuple[float, float, float], unit: str, mm: float
) -> None:
    drawn = read_dxf(plate(*size), None, unit=unit)
    assert width(drawn) == pytest.approx(size[0] * mm)
    assert (drawn.unit, drawn.unit_from) == (unit, "given")


def test_a_unit_that_is_given_overrules_the_header(read_dxf: ReadDxf) -> None:
    drawn = read_dxf(plate(60, 30, 1), 4, unit="cm")
    assert width(drawn) == pytest.approx(600.0)
    assert drawn.unit_from == "given"


# CSS Values and Units 3, section 5.2: 1 in = 2.54 cm = 96 px; 1 pt = 1/72 in; 1 pc = 12 pt
@pytest.mark.parametrize(
    ("head", "mm"),
    (
        ('width="200mm" height="100mm" viewBox="0 0 200 100"', 1.0),
        ('width="20cm" height="10cm" viewBox="0 0 200 100"', 1.0),
        ('width="200" height="100"', 25.4 / 96),
        ('width="200px" height="100px"', 25.4 / 96),
        ('width="8in" height="4in" viewBox="0 0 800 400"', 0.254),
        ('width="144pt" height="72pt" viewBox="0 0 200 100"', 25.4 * 2 / 200),
        ('width="12pc" height="6pc" viewBox="0 0 200 100"', 25.4 * 2 / 200),
        ('width="400mm" height="200mm" viewBox="-10 -10 200 100"', 2.0),
    ),
)
def test_the_svg_page_gives_the_scale(read_svg: ReadSvg, head: str, mm: float) -> None:
    drawn = read_svg(RECTANGLE, head)
    assert width(drawn) == pytest.approx(150 * mm, abs=1e-6)
