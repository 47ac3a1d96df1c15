"""What a drawing shows or hides in ways that are not followed: each is told, nothing is cut unasked."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from ezdxf.layouts import Modelspace

from camkit.drawing.drawn import Drawn

ReadDxf = Callable[..., Drawn]
ReadSvg = Callable[..., Drawn]


def test_an_external_reference_that_is_not_read_is_told(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0), (100, 0), (100, 60), (0, 60)], close=True)
        space.doc.add_xref_def("other.dxf", "OTHER")
        space.add_blockref("OTHER", (0, 0))

    drawn = read_dxf(draw)
    assert len(drawn.parts) == 1
    (told,) = drawn.findings
    assert (told.level, told.rule) == ("warning", "unreadable-entity")
    assert told.message == 'its block "OTHER" is an external reference to other.dxf, which is not read'


@pytest.mark.parametrize("normal", [(0, 1, 1), (0, 0.01, 1), (1, 0, 0)])
def test_an_entity_tilted_out_of_the_plane_is_told(
    read_dxf: ReadDxf, normal: tuple[float, float, float]
) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
        space.add_circle((50, 50), 10, dxfattribs={"extrusion": normal})

    told = [finding for finding in read_dxf(draw).findings if finding.rule == "tilted"]
    assert [(finding.level, finding.count) for finding in told] == [("warning", 1)]
    assert "CIRCLE" in str(told[0])


def test_lines_and_curves_that_climb_are_told(read_dxf: ReadDxf) -> None:
    """A square whose top edge lies 50 mm higher, drawn four ways; upright lines have no length in plan."""
    corners = [(0, 0, 0), (100, 0, 0), (100, 100, 50), (0, 100, 50)]

    def draw(space: Modelspace) -> None:
        for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
            space.add_line(start, end)
        space.add_polyline3d([(x + 200, y, z) for x, y, z in corners], close=True)
        space.add_spline([(x + 400, y, z) for x, y, z in (*corners, corners[0])])
        space.add_line((10, 10, 0), (10, 10, 30))

    told = [finding for finding in read_dxf(draw).findings if finding.rule == "tilted"]
    assert [finding.count for finding in told] == [4]


@pytest.mark.parametrize("height", [0.0, 120.0])
def test_what_lies_flat_at_any_height_or_upside_down_is_not_called_tilted(
    read_dxf: ReadDxf, height: float
) -> None:
    """Heights that differ by a hundredth of a millimetre are noise of an exporter."""

    def draw(space: Modelspace) -> None:
        for a, b in (((0, 0), (300, 0)), ((300, 0), (300, 200)), ((300, 200), (0, 200)), ((0, 200), (0, 0))):
            space.add_line((*a, height), (*b, height + 0.01))
        space.add_circle((-50, 50, height), 5, dxfattribs={"extrusion": (0, 0, -1)})

    drawn = read_dxf(draw)
    assert len(drawn.parts[0].holes) == 1
    assert not [finding for finding in drawn.findings if finding.rule == "tilted"]
