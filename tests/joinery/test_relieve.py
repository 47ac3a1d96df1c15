"""Reliefs in the fit of whole parts: what each joint gets, what stays, and what is said."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
import shapely
from support.fitting import fit_one_sheet
from support.reach import cleared_inside, cleared_outside, missed

from camkit.errors import Finding
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Arc, Line, Path, polygon, rectangle, reversed_path
from camkit.joinery.fitted import Fitted
from camkit.part import Part, Pocket

BOARD = rectangle(0, 0, 400, 300)
MORTISE = rectangle(100, 50, 190, 68)


def shelf(width: float = 89.7, shoulder: float = 100.0, long: float = 18.0, name: str = "shelf") -> Part:
    """A board whose right edge, at 400, has one tenon between two shoulders."""
    a, b = shoulder, shoulder + width
    corners = [(0, 0), (400, 0), (400, a), (400 + long, a), (400 + long, b), (400, b), (400, b + shoulder)]
    return Part(name, polygon([*corners, (0, b + shoulder)]))


def about(result: Fitted, rule: str) -> list[Finding]:
    return [finding for finding in result.findings if finding.rule == rule]


def end(length: float = 90.0) -> Part:
    return Part("end", BOARD, (rectangle(100, 50, 100 + length, 68),))


def test_shoulders_hide_t_bones_on_the_face_where_the_tenon_enters_and_the_other_is_told(
    job: Callable,
) -> None:
    result = fit_one_sheet([end(), shelf()], job())
    assert [joint.relief for joint in result.joints] == ["t-bone"]
    (said,) = about(result, "relief-shows")
    assert (said.level, said.part, said.count) == ("note", "end", 1)
    assert said.message.startswith("the mortise at (145.0, 59.0) has T-bones that shoulders hide on one face")
    # r + 1 = 4.05 beyond the mortise, 0.3 more for its play
    for shoulder, relief in ((4.4, "t-bone"), (4.3, "dogbone")):
        result = fit_one_sheet([end(), shelf(shoulder=shoulder)], job(fit={"clearance": 0.15}))
        assert [joint.relief for joint in result.joints] == [relief]


def test_the_roots_of_a_tenon_are_relieved_so_that_a_sharp_mouth_reaches_the_shoulder(job: Callable) -> None:
    """A tenon of 20 r = 61 or more into its sides, else into the shoulders; the mortise is 0.3 longer."""
    for width, way in ((89.7, "2 into the tenon's side"), (59.7, "2 into the shoulder")):
        result = fit_one_sheet([end(width + 0.3), shelf(width)], job())
        (said,) = about(result, "roots-relieved")
        assert (said.level, said.count, said.part) == ("note", 2, "shelf")
        assert said.message.endswith(f": {way}")
        assert not about(result, "tenon-roots")
        fitted = result.parts[1].outline
        cleared = cleared_outside(fitted, 3.0)
        mouth = shapely.box(400, 0, 417.6, 200 + width).difference(shapely.box(400, 100, 418, 100 + width))
        assert missed(mouth, cleared) < 0.004
        assert missed(mouth, cleared_outside(shelf(width).outline, 3.0)) > 0.5
        x0, y0, x1, y1 = as_polygon(fitted).bounds
        assert (x0, y0, x1, y1) == pytest.approx((0, 0, 417.6, 200 + width), abs=1e-6)


def test_the_wish_of_a_row_goes_for_roots_as_well(job: Callable) -> None:
    row = {"tenon": "shelf", "mortise": "end", "relief": "none"}
    result = fit_one_sheet([end(), shelf()], job(joint=(row,)))
    (said,) = about(result, "roots-round")
    assert (said.level, said.part) == ("note", "shelf")
    assert "keeps the round roots that the cutter leaves" in said.message
    assert said.remedy.startswith("Chamfer the mortise's mouth by 3.1 mm")
    assert not any(isinstance(piece, Arc) for part in result.parts for piece in part.outline.segments)
    (by_dogbones,) = about(
        fit_one_sheet([end(), shelf()], job(joint=({**row, "relief": "dogbone"},))), "roots-relieved"
    )
    assert by_dogbones.message.endswith(": 2 by dogbones")


def test_roots_without_room_are_an_error_and_a_smaller_cutter_of_the_job_is_taken_first(
    job: Callable,
) -> None:
    narrow = [end(11.2), shelf(10.9, shoulder=3.0)]
    (said,) = about(fit_one_sheet(narrow, job()), "root-room")
    assert (said.level, said.part) == ("error", "shelf")
    assert "sides or shoulders too short for a relief of radius 3.05" in said.message
    # half of the tenon's 10.9 stays: T-bones of up to 2.725 into its sides, 0.05 of it beyond the cutter's
    named = float(said.remedy.split(" at most ")[1].split(" mm")[0])
    assert named == 5.3
    for diameter, told in ((named, 0), (named + 0.1, 1)):
        assert len(about(fit_one_sheet(narrow, job(cutters=(diameter,))), "root-room")) == told
    result = fit_one_sheet(narrow, job(cutters=(6.0, 2.0)))
    assert not about(result, "root-room")
    arcs = [s for s in result.parts[1].outline.segments if isinstance(s, Arc)]
    assert [round(arc.radius, 3) for arc in arcs] == [1.05, 1.05]


def rounded(x0: float, y0: float, x1: float, y1: float, r: float) -> Path:
    """A rectangle with rounded corners."""
    pieces: list[Line | Arc] = []
    corners = [(x1, y0), (x1, y1), (x0, y1), (x0, y0)]
    ways = [(1, 0), (0, 1), (-1, 0), (0, -1)]
    for k, ((cx, cy), (ux, uy)) in enumerate(zip(corners, ways, strict=True)):
        vx, vy = ways[(k + 1) % 4]
        before = corners[k - 1]
        start, stop = (before[0] + r * ux, before[1] + r * uy), (cx - r * ux, cy - r * uy)
        last = (cx + r * vx, cy + r * vy)
        pieces += [Line(start, stop), Arc(stop, last, (stop[0] + r * vx, stop[1] + r * vy), False)]
    return Path(tuple(pieces))


def test_corners_drawn_as_round_as_the_cutter_stay_and_a_square_mate_is_told(job: Callable) -> None:
    part = Part("end", BOARD, (rounded(100, 50, 190, 68, 4.0),))
    result = fit_one_sheet([part, shelf()], job())
    (said,) = about(result, "round-corners")
    assert (said.level, said.part) == ("warning", "end")
    assert "corners rounded by 4.00 mm" in said.message
    arcs = [s for s in result.parts[0].openings[0].segments if isinstance(s, Arc)]
    assert [round(arc.radius, 6) for arc in arcs] == [4.0] * 4
    tight = fit_one_sheet([Part("end", BOARD, (rounded(100, 50, 190, 68, 2.0),)), shelf()], job())
    assert not about(tight, "round-corners")  # the cutter would leave 3: relieved instead
    assert [joint.relief for joint in tight.joints] == ["t-bone"]


def test_a_short_tenon_leaves_a_mortise_round(job: Callable) -> None:
    """r 1, c 0.3: 1 - sqrt(1 - 0.85 0.85) = 0.473 short at either end."""
    for width, relief in ((89.04, "none"), (89.08, "t-bone")):
        result = fit_one_sheet([end(), shelf(width)], job(clearance=0.3, cutters=(2.0,)))
        assert [joint.relief for joint in result.joints] == [relief]
        cleared = cleared_inside(result.parts[0].openings[0], 1.0)
        middle = 59.0
        section = shapely.box(145 - width / 2, middle - 8.8, 145 + width / 2, middle + 8.8)
        assert missed(section, cleared) < 0.004


def test_two_mortises_that_reliefs_bring_too_near_are_told_by_both_names(job: Callable) -> None:
    close = Part("end", BOARD, (MORTISE, rectangle(100, 71, 190, 89)))
    row = {"mortise": "end", "relief": "dogbone"}
    result = fit_one_sheet([close], job(joint=(row,)))
    (said,) = about(result, "thin-web")
    assert (said.level, said.part) == ("warning", "end")
    # 3 mm drawn, both walls 0.125 away from each other by 17.75, dogbones 3.05 (1 - sin 45) past them
    left = 3 + 0.25 - 2 * 3.05 * (1 - math.sqrt(0.5))
    assert f"only {left:.2f} mm of wood stays" in said.message
    assert "the mortise at (145.0, 59.0)" in said.message and "the mortise at (145.0, 80.0)" in said.message


def test_a_rabbet_is_relieved_at_its_stopped_end_alone(job: Callable) -> None:
    """The rabbet runs off the right edge and stops 100 from the left; its mate is as long."""
    pocket = Pocket(reversed_path(rectangle(100, 282, 410, 310)), 6.0)
    side = Part("side", BOARD, (), (), (pocket,))
    back = Part("back", rectangle(0, 0, 300, 200))
    result = fit_one_sheet([side, back], job())
    assert [(joint.kind, joint.relief) for joint in result.joints] == [("rabbet", "dogbone")]
    arcs = [s for s in result.parts[0].pockets[0].outline.segments if isinstance(s, Arc)]
    assert len(arcs) == 1
    wide = rectangle(-10, 282, 410, 310)
    through = Part("side", BOARD, (), (), (Pocket(reversed_path(wide), 6.0),))
    result = fit_one_sheet([through, Part("back", rectangle(0, 0, 400, 200))], job())
    assert [(joint.kind, joint.relief) for joint in result.joints] == [("rabbet", "none")]


def test_a_tenon_in_a_stopped_pocket_hides_its_t_bones_everywhere(job: Callable) -> None:
    pocket = Pocket(reversed_path(rectangle(100, 50, 190, 68)), 9.0)
    result = fit_one_sheet([Part("end", BOARD, (), (), (pocket,)), shelf(long=8.0)], job())
    assert [(joint.kind, joint.relief) for joint in result.joints] == [("housing", "t-bone")]
    assert not about(result, "relief-shows")
    (said,) = about(result, "roots-relieved")  # 2 r = 6.1 of the side: within 9 deep, and the tenon is 8 long
    assert said.message.endswith(": 2 into the tenon's side")


def test_the_cutter_that_a_slot_without_room_asks_for_has_room(job: Callable) -> None:
    """A slot 6.15 wide and 3 deep: no room for the 5 mm cutter, but for the one that the remedy names."""
    slot = polygon([(0, 0), (100, 0), (100, 80), (56, 80), (56, 77), (50, 77), (50, 80), (0, 80)])
    row = {"mortise": "rail"}
    tight = fit_one_sheet([Part("rail", slot)], job(drawn=6.0, measured=6.0, cutters=(5.0,), joint=(row,)))
    (said,) = about(tight, "relief-room")
    named = float(said.remedy.removeprefix("Use a milling cutter of at most ").removesuffix(" mm"))
    for diameter, told in ((named, 0), (named + 0.1, 1)):
        result = fit_one_sheet(
            [Part("rail", slot)], job(drawn=6.0, measured=6.0, cutters=(diameter,), joint=(row,))
        )
        assert len(about(result, "relief-room")) == told
