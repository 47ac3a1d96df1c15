"""Every closed loop is in one part, is the sheet's border, or is named by a finding: none is lost."""

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from ezdxf.layouts import Modelspace
from support.accounting import loops_unaccounted, unaccounted

from camkit.drawing.drawn import Drawn
from camkit.part import LayerRule

DRAWINGS = Path(__file__).parents[3] / "shared" / "drawings"
RULES = (
    LayerRule("pocket*", "pocket", 6.0),
    LayerRule("blind", "hole", 5.0),
    LayerRule("drill", "hole"),
    LayerRule("slots", "opening"),
    LayerRule("cut", "profile"),
    LayerRule("stock", "sheet edge"),
)
LAYERS = ("pocket 1", "pocket 2", "blind", "drill", "slots", "cut", "stock")


@pytest.mark.skipif(not DRAWINGS.is_dir(), reason="the published drawings are not at hand")
@pytest.mark.parametrize("path", sorted(DRAWINGS.glob("*.[ds][xv][fg]")), ids=lambda path: path.name)
def test_no_loop_of_a_published_drawing_is_lost(path: Path) -> None:
    assert loops_unaccounted(path) == 0


@pytest.mark.parametrize("seed", range(40))
def test_no_loop_of_a_heap_is_lost(dxf: Callable[..., Drawn], seed: int) -> None:
    """Rectangles, circles and crossed polylines thrown on one heap, on layers with and without a rule."""
    chance = random.Random(seed)
    layers = ("0",) * chance.randint(3, 12) + LAYERS
    step = chance.choice((0.25, 1, 5, 5))

    def about(low: float, high: float) -> float:
        return round(chance.uniform(low, high) / step) * step

    def draw(space: Modelspace) -> None:
        for _ in range(chance.randint(2, 14)):
            x, y, layer = about(0, 300), about(0, 200), {"layer": chance.choice(layers)}
            kind = chance.random()
            if kind < 0.3:
                space.add_circle((x, y), chance.choice((0.2, 1.5, 3, 4, 6, 10, 30)), dxfattribs=layer)
            elif kind < 0.85:
                u, v = x + max(step, about(1, 200)), y + max(step, about(1, 150))
                space.add_lwpolyline([(x, y), (u, y), (u, v), (x, v)], close=True, dxfattribs=layer)
                for corner in ((x, y), (u, v)):
                    if chance.random() < 0.3:
                        space.add_circle(corner, 3, dxfattribs=layer)
            else:
                count = chance.randint(3, 6)
                bulged = [
                    (about(0, 300), about(0, 200), chance.choice((0, 0, 1, -0.5))) for _ in range(count)
                ]
                space.add_lwpolyline(bulged, format="xyb", close=True, dxfattribs=layer)

    found = dxf(draw, unit="mm", rules=RULES if seed % 2 else ())
    assert unaccounted(found) == 0
