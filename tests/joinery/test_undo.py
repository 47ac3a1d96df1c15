"""Parts with their drawn reliefs undone, what is told of them, and the cutter such a drawing asks for."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from support.drawn_corners import flattened, with_corners
from support.places import published

from camkit.drawing.read import read
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Arc, Line, Path, circle, rectangle, signed_area
from camkit.joinery.features import features, sharpened
from camkit.joinery.fitted import FittedJoint
from camkit.joinery.largest import largest_cutter
from camkit.joinery.undo import gathered_radii, undone
from camkit.part import Part, Pocket
from camkit.report.inspection_reliefs import relief_lines


def mortise(x: float, way: str = "dogbone", radius: float = 2.1) -> Path:
    """A mortise of 60 x 18 at (x, 30)."""
    corners = [(x, 30.0), (x, 48.0), (x + 60, 48.0), (x + 60, 30.0)]
    return with_corners(corners, [way] * 4, radius)


def board() -> Part:
    outline = with_corners(
        [(0, 0), (300, 0), (300, 80), (200, 80), (200, 62), (182, 62), (182, 80), (0, 80)],
        ["fillet", "fillet", "sharp", "sharp", "t-bone after", "t-bone before", "sharp", "sharp"],
        3.0,
    )
    pocket = Pocket(flattened(mortise(220), 12), 6.0)
    return Part("board", outline, (mortise(20), mortise(100, "fillet")), pockets=(pocket,))


def test_a_part_has_its_relieved_corners_sharp_and_all_else_as_drawn():
    drawn = board()
    sharp = undone(drawn)
    square = as_polygon(rectangle(20, 30, 80, 48)).normalize()
    assert as_polygon(sharp.part.openings[0]).normalize().equals_exact(square, 1e-9)
    assert sharp.part.openings[1] is drawn.openings[1]
    assert as_polygon(sharp.part.pockets[0].outline).bounds == pytest.approx((220, 30, 280, 48))
    assert sharp.part.pockets[0].depth == 6.0
    fillets = {s for s in sharp.part.outline.segments if isinstance(s, Arc)}
    assert fillets == {s for s in drawn.outline.segments if isinstance(s, Arc) and not s.clockwise}
    assert len(fillets) == 2
    # The slot of 18 x 18 is square again.
    corners_off = 2 * 9 * (1 - math.pi / 4)
    assert signed_area(sharp.part.outline) == pytest.approx(300 * 80 - 18 * 18 - corners_off, abs=1e-6)
    assert signed_area(drawn.outline) == pytest.approx(
        signed_area(sharp.part.outline) - 2 * 4.5 * math.pi, abs=1e-6
    )


def test_radii_and_count_are_told_in_the_order_of_the_loops():
    assert undone(board()).radii == pytest.approx((3.0, 3.0) + (2.1,) * 8, abs=1e-6)
    assert gathered_radii((3.175, 2.1, 2.106, 3.18, 2.1)) == ((2.1, 3), (3.18, 2))
    assert gathered_radii(()) == ()


def test_a_part_without_reliefs_is_the_very_same_object():
    plain = Part("plain", rectangle(0, 0, 300, 80), (mortise(20, "fillet"), circle((200, 40), 20)))
    assert undone(plain).part is plain
    assert undone(plain).radii == ()


def test_what_stays_as_drawn_is_told_with_its_place():
    r = 6.0
    ell = Path(
        (
            Line((0, 0), (80, 0)),
            Line((80, 0), (80, 30)),
            Line((80, 30), (30 + r, 30)),
            Arc((30 + r, 30), (30, 30 + r), (30, 30), True),
            Line((30, 30 + r), (30, 80)),
            Line((30, 80), (0, 80)),
            Line((0, 80), (0, 0)),
        )
    )
    (place,) = undone(Part("ell", ell)).left
    assert place.at == pytest.approx((30, 30))
    assert place.radius == pytest.approx(6)
    assert relief_lines([Part("ell", ell)]) == [
        "like reliefs, but taken as drawn: 1; a circle about the corner may be a hole for a cable"
    ]


def test_joints_are_judged_on_the_corners_that_were_relieved():
    sharp = sharpened(board())
    assert len(sharp.openings[0].segments) == len(sharp.pockets[0].segments) == 4
    found = {(f.kind, f.loop): (f.width, f.length) for f in features(0, board(), 18.0)}
    assert found[("mortise", 0)] == pytest.approx((18, 60), abs=1e-9)
    assert found[("slot", None)] == pytest.approx((18, 18), abs=1e-9)
    assert found[("housing", 0)] == pytest.approx((18, 60), abs=1e-9)


def limit_of(opening: Path, *joints: FittedJoint) -> tuple[float, str]:
    limit = largest_cutter([Part("board", rectangle(0, 0, 300, 80), (opening,))], joints, [])
    assert limit is not None
    return limit.diameter, limit.what


def test_a_drawn_relief_of_a_joint_does_not_ask_for_its_own_cutter():
    """Two dogbones need 2 sqrt 2 r of the end of 17.75, reliefs being 0.05 wider than the cutter: 12.4."""
    joint = FittedJoint("mortise", ("board",), 18.0, 17.75, 0.15, "dogbone", 50.0, 39.0)
    assert limit_of(mortise(20), joint) == (pytest.approx(12.4), "a mortise 17.75 wide")


def test_a_relief_that_stays_as_drawn_asks_for_its_own_cutter():
    assert limit_of(mortise(20)) == (pytest.approx(4.2), "a relief of radius 2.10 that stays as drawn")


def test_inside_curves_ask_for_their_own_cutter_flattened_or_not():
    curve = mortise(20, "fillet", 2.6)
    for drawn in (curve, flattened(curve, 10)):
        assert limit_of(drawn) == (pytest.approx(5.2), "an inside curve of radius 2.60")


def test_an_outline_asks_for_no_cutter_of_its_drawn_reliefs():
    part = replace(board(), openings=(), pockets=())
    assert undone(part).radii == pytest.approx((3.0, 3.0))
    assert largest_cutter([part], [], []) is None


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("desk-2004.dxf", "118 of radius 2.1;"),
        ("desk-fillets-mm.dxf", "80 of radius 3.1;"),
        ("rack-inches.dxf", "44 of radius 3.18;"),
    ],
)
def test_reliefs_of_published_drawings_are_told_in_one_line(name, said):
    (line,) = relief_lines(read(published(name)).parts)
    assert line.startswith(f"reliefs drawn: {said}")


def test_drawings_without_reliefs_say_nothing_of_them():
    assert relief_lines(read(published("desk-cm.dxf")).parts) == []
