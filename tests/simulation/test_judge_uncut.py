"""Rules `uncut` and `missing-hole`: wood left where the parts want none."""

import math

import pytest
import shapely
from support.router import Router, job, placed, plate

from camkit.errors import Finding
from camkit.geometry.path import circle, polygon, rectangle
from camkit.job.machine import Cutter
from camkit.part import Hole, Part, Pocket
from camkit.simulation.judge import judge

SHEET = (400.0, 300.0)
SHELF = plate(50, 50)


def uncut(router: Router, *parts: Part, cutters: tuple[Cutter, ...] = ()) -> list[Finding]:
    verdict = judge(router.text(), placed(*parts), job(*cutters), sheet_size=SHEET, thickness=18.0).verdict
    return [f for f in verdict.findings if f.rule in ("uncut", "missing-hole")]


def around(bite: float = 0.0, **how: float) -> Router:
    return Router(bite=bite).around(50, 50, 250, 150, **how)


# Outlines.


@pytest.mark.parametrize("off", [0.0, 0.03, 0.045])
def test_a_path_a_little_wide_is_let_pass(off):
    assert uncut(around(bite=0.005 - off), SHELF) == []


@pytest.mark.parametrize("off", [0.055, 0.1, 0.5, 0.9])
def test_wood_left_on_the_part_is_told_by_its_thickness(off):
    (finding,) = uncut(around(bite=0.005 - off), SHELF)
    assert finding.rule == "uncut"
    assert finding.amount_mm == pytest.approx(off, abs=0.003)
    assert (finding.part, finding.level) == ("shelf", "error")
    assert "left on the outline" in finding.message


def test_an_undersize_cutter_is_found_at_its_own_diameter():
    """Written for 6 mm, run with a cutter of 5.88: 0.06 stays all around; with 5.92 only 0.04 and 0.005."""
    assert uncut(around(), SHELF, cutters=(Cutter(number=1, diameter=5.92),)) == []
    (finding,) = uncut(around(), SHELF, cutters=(Cutter(number=1, diameter=5.88),))
    assert finding.amount_mm == pytest.approx(0.065, abs=0.003)


def test_a_dent_outwards_is_found_where_it_is():
    lines = around().text().splitlines()
    bottom = next(n for n, line in enumerate(lines) if line.startswith("G1 Z-18.2")) + 1
    assert lines[bottom].startswith("Y150")
    lines[bottom:bottom] = ["Y80 F3000", "X46.695", "Y100", "X46.995"]
    router = Router(lines=[])
    router.lines = lines[:-3]
    (finding,) = uncut(router, SHELF)
    assert finding.amount_mm == pytest.approx(0.305, abs=0.003)
    assert 80 <= finding.y_mm <= 100
    assert finding.x_mm == pytest.approx(50, abs=0.1)


@pytest.mark.parametrize("tabs", [5.0, 8.0, 29.0])
def test_tabs_up_to_30_mm_are_tabs(tabs):
    assert uncut(around(tabs=tabs), SHELF) == []


def test_a_longer_piece_is_uncut():
    (finding,) = uncut(around(tabs=31.0), SHELF)
    assert finding.amount_mm == pytest.approx(31.0, abs=0.1)
    assert "longest piece is 31.0 mm" in finding.message


def test_tabs_over_more_than_35_percent_are_uncut():
    """Two tabs of 29 mm on an outline of 160 mm are 36 %; on one of 170 mm they are 34 %."""
    small, larger = plate(50, 50, 50, 30), plate(50, 50, 50, 35)
    (finding,) = uncut(Router().around(50, 50, 100, 80, tabs=29), small)
    assert "36%" in finding.message
    assert uncut(Router().around(50, 50, 100, 85, tabs=29), larger) == []


def test_a_cut_not_deep_enough_is_uncut_all_around():
    (finding,) = uncut(Router(thickness=17.7).around(50, 50, 250, 150), SHELF)
    assert "not cut through anywhere" in finding.message
    assert finding.amount_mm == pytest.approx(600.0)


def test_a_skin_thinner_than_five_hundredths_is_no_wood():
    assert uncut(Router(thickness=17.76).around(50, 50, 250, 150), SHELF) == []


def test_a_part_that_nobody_cuts_is_one_finding():
    rail = plate(
        50, 170, 200, 60, "rail", holes=(Hole((100, 200), 8.0),), openings=(circle((150, 200), 20.0),)
    )
    (finding,) = uncut(around(), SHELF, rail)
    assert (finding.rule, finding.part) == ("uncut", "rail")
    assert "nobody cuts" in finding.message


def test_no_program_at_all_is_a_finding_a_part():
    found = uncut(Router(), SHELF, plate(50, 170, name="rail"))
    assert [f.part for f in found] == ["shelf", "rail"]


def test_inner_corners_that_a_round_cutter_cannot_reach_are_no_fault():
    """An L cut with a 6 mm cutter keeps a fillet of radius 3 in its inner corner."""
    ell = Part("ell", polygon([(50, 50), (150, 50), (150, 80), (80, 80), (80, 150), (50, 150)]))
    path = ["G0 X46.995 Y46.995", "G0 Z1"]
    d = 3.005
    for z in (-6, -12, -18.2):
        path += [
            f"G1 Z{z} F900",
            f"X{150 + d} F3000",
            f"Y{80 + d}",
            f"X{80 + d}",
            f"Y{150 + d}",
            f"X{50 - d}",
        ]
        path += [f"Y{50 - d}"]
    assert uncut(Router().say(*path, "G0 Z15"), ell) == []


def test_a_slot_of_the_cutters_own_width_must_be_cut():
    """A notch 6.0 wide in the edge: one pass of a 6.0 cutter down its middle, or it is uncut."""
    notched = Part(
        "comb",
        polygon([(50, 50), (250, 50), (250, 150), (153, 150), (153, 120), (147, 120), (147, 150), (50, 150)]),
    )
    plain = around()
    slot = ["G0 X150 Y160", "G1 Z-18.2 F900", "Y123.005 F3000", "G0 Z15"]
    assert [f for f in uncut(around().say(*slot), notched) if f.rule == "uncut"] == []
    assert uncut(plain, notched)


def test_two_cutters_are_judged_by_the_one_that_ran_along():
    """A 3 mm cutter bores a hole near an outline cut with 6 mm, whose corners are judged by the 6 mm."""
    ell = Part(
        "ell",
        polygon([(50, 50), (150, 50), (150, 80), (80, 80), (80, 150), (50, 150)]),
        (),
        (Hole((60, 140), 4.0),),
    )
    cutters = (Cutter(number=1, diameter=6.0), Cutter(number=2, diameter=3.0))
    d = 3.005
    router = Router(diameter=3.0, cutter=2).bore((60, 140), 4.0)
    router.say("T1 M6", "S18000 M3", "G0 X46.995 Y46.995", "G0 Z1", "G1 Z-18.2 F900")
    router.say(
        f"X{150 + d} F3000", f"Y{80 + d}", f"X{80 + d}", f"Y{150 + d}", f"X{50 - d}", f"Y{50 - d}", "G0 Z15"
    )
    assert uncut(router, ell, cutters=cutters) == []


# Openings and holes.


def test_an_opening_cut_around_or_cleared_is_cut():
    part = plate(50, 50, openings=(rectangle(100, 80, 140, 92),))
    assert uncut(around().inside(100, 80, 140, 92), part) == []


def test_an_opening_that_nobody_cuts_is_uncut():
    part = plate(50, 50, openings=(rectangle(100, 80, 140, 92),))
    (finding,) = uncut(around(), part)
    assert "opening 1 is not cut through anywhere" in finding.message


def test_an_opening_cut_short_is_told_by_what_is_left():
    part = plate(50, 50, openings=(rectangle(100, 80, 140, 120),))
    (finding,) = uncut(around().inside(100, 80, 139.8, 120), part)
    assert finding.amount_mm == pytest.approx(0.205, abs=0.003)
    assert finding.x_mm == pytest.approx(140, abs=0.1)


def test_an_opening_too_narrow_for_the_cutter_is_told():
    part = plate(50, 50, openings=(rectangle(100, 80, 140, 85),))
    router = around().say("G0 X105 Y82.5", "G1 Z-18.2 F900", "X135", "G0 Z15")
    (finding,) = uncut(router, part)
    assert "too narrow for the cutter of 6 mm" in finding.message


def test_a_mortise_of_the_cutters_width_is_one_pass():
    part = plate(50, 50, openings=(rectangle(100, 80, 140, 86),))
    router = around().say("G0 X103.005 Y83", "G1 Z-18.2 F900", "X136.995", "G0 Z15")
    assert uncut(router, part) == []


@pytest.mark.parametrize("depth", [None, 8.0])
def test_a_hole_never_cut_is_missing(depth):
    part = plate(50, 50, holes=(Hole((70, 70), 8.0, depth),))
    (finding,) = uncut(around(), part)
    assert (finding.rule, finding.amount_mm) == ("missing-hole", 8.0)
    assert (finding.x_mm, finding.y_mm) == (70.0, 70.0)


def test_a_bored_hole_is_cut():
    part = plate(50, 50, holes=(Hole((70, 70), 8.0), Hole((90, 70), 30.0), Hole((120, 70), 8.0, 9.0)))
    router = around().bore((70, 70), 8).bore((120, 70), 8, 9)
    for size in (12.0, 20.0, 30.0):
        router.bore((90, 70), size)
    assert uncut(router, part) == []


def test_a_drill_of_its_own_size_makes_a_hole():
    part = plate(50, 50, holes=(Hole((70, 70), 5.0), Hole((90, 70), 5.0, 9.0)))
    cutters = (Cutter(number=1, diameter=6.0), Cutter(number=2, diameter=5.0, kind="drill"))
    router = Router(cutter=2).say("G81 X70 Y70 Z-18.2 R2 F600", "G83 X90 Y70 Z-9 R2 Q3", "G80")
    router.say("G0 Z15", "T1 M6", "S18000 M3").around(50, 50, 250, 150)
    assert uncut(router, part, cutters=cutters) == []


def test_a_small_hole_and_a_shallow_hole_are_uncut():
    part = plate(50, 50, holes=(Hole((70, 70), 8.0),))
    for router in (around().bore((70, 70), 7.8), around().bore((70, 70), 8.0, 17.0)):
        (finding,) = uncut(router, part)
        assert finding.rule == "uncut"
        assert "not cut to its full size right through" in finding.message


# Pockets.

POCKET = plate(50, 50, pockets=(Pocket(rectangle(180, 60, 240, 100), 4.0),))


def test_a_cleared_pocket_is_cut_though_its_corners_stay_round():
    assert uncut(around().clear(180, 60, 240, 100, 4), POCKET) == []


@pytest.mark.parametrize(("depth", "count"), [(3.96, 0), (3.94, 1), (3.0, 1)])
def test_a_shallow_pocket_is_uncut(depth, count):
    found = uncut(around().clear(180, 60, 240, 100, depth), POCKET)
    assert len(found) == count
    if found:
        assert "nowhere cut to its depth of 4 mm" in found[0].message
        assert found[0].z_mm == -4.0


def halves(below: float, above: float) -> Router:
    """The pocket in two halves, and once along both end walls."""
    router = around().clear(180, 60, 240, below, 4).clear(180, above, 240, 100, 4)
    for x in (183.005, 236.995):
        router.say(f"G0 X{x} Y63.005", "G1 Z-4 F900", "Y96.995", "G0 Z15")
    return router


def test_a_strip_left_in_a_pocket_is_told_by_its_width():
    (finding,) = uncut(halves(79.9, 80.1), POCKET)
    assert finding.amount_mm == pytest.approx(0.2 + 2 * 0.005, abs=0.005)
    assert finding.y_mm == pytest.approx(80, abs=0.02)


def test_a_strip_thinner_than_five_hundredths_is_let_pass():
    assert uncut(halves(79.985, 80.015), POCKET) == []


def test_a_pocket_off_the_edge_is_cleared_up_to_the_edge():
    part = plate(50, 50, pockets=(Pocket(rectangle(220, 60, 260, 100), 4.0),))
    assert uncut(around().clear(220, 60, 256, 100, 4), part) == []
    (finding,) = uncut(around().clear(220, 60, 249, 100, 4), part)
    assert 249 <= finding.x_mm <= 250


def test_a_pocket_over_an_opening_needs_no_floor_there():
    part = plate(
        50, 50, openings=(rectangle(200, 70, 220, 90),), pockets=(Pocket(rectangle(180, 60, 240, 100), 4.0),)
    )
    router = Router().clear(180, 60, 240, 100, 4)
    router.inside(200, 70, 220, 90).around(50, 50, 250, 150)
    assert uncut(router, part) == []


def test_a_pocket_nobody_cuts_in_a_part_that_is_cut():
    (finding,) = uncut(around(), POCKET)
    assert finding.rule == "uncut"
    assert finding.amount_mm == pytest.approx(POCKET.pockets[0].depth, abs=1e-6)


def test_a_wavy_opening_followed_exactly_is_cut():
    count = 240
    outline = [
        (150 + (30 + 2 * math.sin(6 * a)) * math.cos(a), 100 + (30 + 2 * math.sin(6 * a)) * math.sin(a))
        for a in (2 * math.pi * n / count for n in range(count))
    ]
    part = plate(50, 50, openings=(polygon(outline),))
    path = shapely.Polygon(outline).buffer(-3.008, quad_segs=64).exterior.coords
    router = around().say(f"G0 X{path[0][0]:.4f} Y{path[0][1]:.4f}", "G1 Z-18.2 F900")
    router.say(*(f"X{x:.4f} Y{y:.4f}" for x, y in path[1:]), "G0 Z15")
    assert uncut(router, part) == []


def test_an_edge_that_is_the_sheets_own_needs_no_cut():
    """A strip over the whole width at the left end: one cut across the sheet frees it, three edges it has."""
    strip = Part("strip", rectangle(0, 0, 100, 300))
    router = Router().say("G0 X103.005 Y-5", "G1 Z-18.2 F900", "Y305 F3000", "G0 Z15")
    assert uncut(router, strip) == []
    (finding,) = uncut(Router().say("G0 X103.005 Y-5", "G1 Z-10 F900", "Y305 F3000", "G0 Z15"), strip)
    assert finding.amount_mm == pytest.approx(300, abs=0.2)


def test_a_part_as_large_as_the_sheet_needs_no_cut_around():
    part = Part("board", rectangle(0, 0, 400, 300), (), (Hole((100, 100), 8.0),))
    assert uncut(Router().bore((100, 100), 8), part) == []
