"""Drawings made by hand for one test, read back as parts."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from ezdxf.layouts import Modelspace

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read

DrawDxf = Callable[..., Drawn]


@pytest.fixture
def dxf(tmp_path: Path) -> DrawDxf:
    """Let a function draw into a new DXF's model space, save it, and read it."""

    def drawn(draw: Callable[[Modelspace], object], *, insunits: int = 4, **how: Any) -> Drawn:
        document = ezdxf.new("R2010")
        document.header["$INSUNITS"] = insunits
        draw(document.modelspace())
        path = tmp_path / "drawing.dxf"
        document.saveas(path)
        return read(path, **how)

    return drawn


@pytest.fixture
def svg(tmp_path: Path) -> Callable[..., Drawn]:
    """Write SVG elements into a page of 200 x 100 mm (or a whole file), and read it."""

    def drawn(
        body: str, head: str = 'width="200mm" height="100mm" viewBox="0 0 200 100"', **how: Any
    ) -> Drawn:
        path = tmp_path / "drawing.svg"
        spaces = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
        text = f"<svg {spaces} {head}>{body}</svg>"
        path.write_text(text, encoding="utf-8")
        return read(path, **how)

    return drawn
