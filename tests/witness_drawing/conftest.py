"""Drawings made by hand for one test, read back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from ezdxf.layouts import Modelspace

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read


@pytest.fixture
def read_dxf(tmp_path: Path) -> Callable[..., Drawn]:
    """Let a function draw into a new model space; headers are set, or removed where None; read it."""

    def reading(draw: Callable[[Modelspace], object], insunits: int | None = 4, **how: Any) -> Drawn:
        measurement = how.pop("measurement", 0 if insunits in (1, 2) else 1)
        document = ezdxf.new(how.pop("version", "R2010"))
        draw(document.modelspace())
        document.header["$INSUNITS"] = 0 if insunits is None else insunits
        document.header["$MEASUREMENT"] = measurement
        if insunits is None:
            del document.header["$INSUNITS"]
        path = tmp_path / "drawing.dxf"
        document.saveas(path)
        return read(path, **how)

    return reading


@pytest.fixture
def read_svg(tmp_path: Path) -> Callable[..., Drawn]:
    """Write elements into a page (200 x 100 mm unless `head` says otherwise) and read it."""

    def reading(
        body: str,
        head: str = 'width="200mm" height="100mm" viewBox="0 0 200 100"',
        **how: Any,
    ) -> Drawn:
        path = tmp_path / "drawing.svg"
        spaces = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
        path.write_text(f"<svg {spaces} {head}>{body}</svg>", encoding="utf-8")
        return read(path, **how)

    return reading
