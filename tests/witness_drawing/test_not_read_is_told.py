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
