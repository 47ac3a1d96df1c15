"""Rule `gouge`: planted bites are found on their line and in their size, and sound programs raise none."""

import math
import random

import pytest
from support.router import ALLOWANCE, Router, job, placed, plate

from camkit.errors import Finding
from camkit.geometry.path import Arc, Line, Path, circle, rectangle
from camkit.job.machine import Cutter
from camkit.part import Hole, Part, Pocket
from camkit.simulation.judge import judge

SHEET = (400.0, 300.0)
SHELF = plate(
    50,
    50,
    openings=(rectangle(100, 80, 140, 92),),
    holes=(Hole((70, 70), 8.0), Hole((70, 120), 8.0, 5.0)),
    pockets=(Pocket(rectangle(180, 60, 240, 100), 4.0), Pocket(rectangle(230, 120, 260, 140), 6.0)),
)


def gouges(text: str, *parts: Part, thickness: float = 18.0, **machine: object) -> list[Finding]:
    verdict = judge(text, placed(*parts), job(**machine), sheet_size=SHEET, thickness=thickness).verdict
    return [f for f in verdict.findings if f.rule == "gouge"]


def shelf_router(bite: float = 0.0) -> Router:
    router = Router(bite=bite)
    router.clear(180, 60, 240, 100, 4).clear(230, 120, 260, 140, 6).bore((70, 70), 8).bore((70, 120), 8, 5)
    return router.inside(100, 80, 140, 92).around(50, 50, 250, 150)


def test_a_sound_program_has_no_finding_at_all():
    verdict = judge(shelf_router().text(), placed(SHELF), job(), sheet_size=SHEET, thickness=18.0).verdict
    assert verdict.findings == ()
    assert verdict.ok


@pytest.mark.parametrize("depth", [0.006, 0.015])
def test_a_bite_below_two_hundredths_is_rounding(depth):
    assert gouges(shelf_router(bite=ALLOWANCE + depth).text(), SHELF) == []


@pytest.mark.parametrize("depth", [0.02, 0.05, 0.3, 1.0])
def test_a_cutter_too_large_by_any_bite_is_found_with_its_size(depth):
    found = gouges(shelf_router(bite=ALLOWANCE + depth).text(), SHELF)
    assert found
    assert {f.part for f in found} == {"shelf"}
    assert max(f.amount_mm for f in found) == pytest.approx(depth, abs=0.003)


def wavy(amount: float = 6.0) -> tuple[Part, list[tuple[float, float]], list[tuple[float, float]]]:
    """A wavy plate, its corners, and the outward direction at each."""
    count = 90
    corners, outward = [], []
    for n in range(count):
        a = 2 * math.pi * n / count
        r, slope = 90 + amount * math.sin(5 * a), 5 * amount * math.cos(5 * a)
        corners.append((200 + r * math.cos(a), 150 + r * math.sin(a)))
        # Across the tangent (slope cos a - r sin a, slope sin a + r cos a), turned outward.
        tx, ty = slope * math.cos(a) - r * math.sin(a), slope * math.sin(a) + r * math.cos(a)
        size = math.hypot(tx, ty)
        outward.append((ty / size, -tx / size))
    lines = tuple(Line(p, q) for p, q in zip(corners, corners[1:] + corners[:1], strict=True))
    return Part("wave", Path(lines)), corners, outward


def wave_program(bites: dict[int, float]) -> tuple[str, dict[int, int]]:
    """Around the wave on vertical plunges at its corners, well clear between; some plunges bite.

    A plunge stands exactly so far from its corner that its disc touches it, less the bite. Returns the text
    and the line of each biting plunge.
    """
    part, corners, outward = wavy()
    router = Router()
    lines = {}
    for n, ((x, y), (ox, oy)) in enumerate(zip(corners, outward, strict=True)):
        off = 3.0 + ALLOWANCE - (bites[n] + ALLOWANCE if n in bites else 0.0)
        router.say(f"G0 X{x + off * ox:.4f} Y{y + off * oy:.4f}", "G1 Z-6 F900")
        lines[n] = len(router.lines)
        router.say("G0 Z5")
    del part
    return router.text(), {n: lines[n] for n in bites}


@pytest.mark.parametrize("seed", range(6))
def test_bites_planted_at_random_are_found_on_their_lines(seed):
    rng = random.Random(seed)
    part, _, _ = wavy()
    bites = {n: rng.choice([0.02, 0.03, 0.1, 0.5, 1.0]) for n in rng.sample(range(90), 5)}
    text, lines = wave_program(bites)
    # Without marks in the text neighbours fold into one finding, so every cut gets a mark of its own.
    marked = []
    for number, line in enumerate(text.splitlines(), start=1):
        marked.append(f"(CUT {number} HOLE A) {line}" if line.startswith("G0 X") else line)
    found = gouges("\n".join(marked), part)
    assert {f.line: f.amount_mm for f in found} == pytest.approx(
        {lines[n]: size for n, size in bites.items()}, abs=0.0035
    )


def test_shallow_bites_planted_at_random_are_let_pass():
    part, _, _ = wavy()
    text, _ = wave_program(dict.fromkeys(range(0, 90, 3), 0.006))
    assert gouges(text, part) == []


def bump(router_text: str, line: int, *moves: str) -> str:
    """The program with moves put in before a line, counted from 1."""
    lines = router_text.splitlines()
    return "\n".join([*lines[: line - 1], *moves, *lines[line - 1 :]])


def test_a_dent_in_one_pass_is_told_with_place_and_line():
    text = shelf_router().text()
    lines = text.splitlines()
    # The first move along the left side: from (46.995, 50) up to Y150.
    first = next(n for n, line in enumerate(lines, start=1) if line.startswith("Y150"))
    (finding,) = gouges(bump(text, first, "Y80 F3000", "X47.3", "Y90", "X46.995"), SHELF)
    assert finding.line in (first + 1, first + 2)
    assert finding.amount_mm == pytest.approx(0.3, abs=0.002)
    assert finding.x_mm == pytest.approx(50.0, abs=0.001)
    assert 80.0 <= finding.y_mm <= 90.0
    assert finding.z_mm == pytest.approx(-4.55)
    assert finding.part == "shelf"
    assert finding.level == "error"
    assert "0.300 mm into the part" in finding.message


def test_two_dents_of_one_cut_are_two_findings():
    text = Router().say("(CUT 1 PROFILE SHELF)").around(50, 50, 250, 150).text()
    lines = text.splitlines()
    up = next(n for n, line in enumerate(lines, start=1) if line.startswith("Y150"))
    down = next(n for n, line in enumerate(lines, start=1) if n > up and line.startswith("G1 Y50"))
    twice = bump(text, down, "G1 Y90", "X252.5", "Y80", "X253.005")
    twice = bump(twice, up, "Y80 F3000", "X47.3", "Y90", "X46.995")
    found = gouges(twice, SHELF)
    assert [f.amount_mm for f in found] == pytest.approx([0.3, 0.5], abs=0.002)
    assert [f.x_mm for f in found] == pytest.approx([50.0, 250.0])


def test_a_bite_all_around_is_one_finding():
    (finding,) = gouges(Router(bite=0.105).around(50, 50, 250, 150).text(), SHELF)
    assert finding.amount_mm == pytest.approx(0.1, abs=0.002)


def test_a_plunge_amid_the_part_is_found_though_no_edge_is_near():
    text = shelf_router().say("G0 X150 Y125", "G1 Z-2.5 F900", "G0 Z5").text()
    (finding,) = gouges(text, SHELF)
    assert finding.line == len(shelf_router().lines) + 2
    assert finding.amount_mm == pytest.approx(2.5)
    assert (finding.x_mm, finding.y_mm, finding.z_mm) == (150.0, 125.0, -2.5)


def test_a_rapid_through_the_part_is_a_gouge_too():
    text = shelf_router().say("G0 X46 Y125", "Z-3", "X150", "Z5").text()
    (finding,) = gouges(text, SHELF)
    assert finding.amount_mm == pytest.approx(3.0)


@pytest.mark.parametrize(("depth", "found"), [(4.0, []), (4.015, []), (4.03, [0.03]), (6.0, [2.0])])
def test_the_floor_of_a_pocket_is_guarded(depth, found):
    router = Router().clear(180, 60, 240, 100, depth)
    assert [f.amount_mm for f in gouges(router.text(), SHELF)] == pytest.approx(found, abs=0.001)


def test_a_deep_pocket_does_not_excuse_a_shallow_one():
    router = Router().clear(180, 60, 240, 100, 6)
    (finding,) = gouges(router.text(), SHELF)
    assert finding.amount_mm == pytest.approx(2.0)


def test_a_pocket_may_run_off_the_edge():
    part = plate(50, 50, pockets=(Pocket(rectangle(200, 60, 260, 100), 4.0),))
    assert gouges(Router().clear(200, 60, 260, 100, 4).text(), part) == []
    assert gouges(Router().clear(196, 60, 260, 100, 4).text(), part)[0].amount_mm == pytest.approx(
        4.0, abs=0.02
    )


def test_an_island_stays():
    island = rectangle(200, 70, 220, 90)
    part = plate(50, 50, pockets=(Pocket(rectangle(180, 60, 240, 100), 4.0, (island,)),))
    (finding,) = gouges(Router().clear(180, 60, 240, 100, 4).text(), part)
    assert finding.amount_mm == pytest.approx(4.0)


def test_only_the_deep_portion_of_a_ramp_bites():
    """A ramp over the part from the top down to 3 mm: at 0.019 below the top it begins to count."""
    text = Router().say("G0 X60 Y125", "G1 Z0 F900", "X160 Z-3 F3000", "G0 Z5").text()
    (finding,) = gouges(text, SHELF)
    assert finding.amount_mm == pytest.approx(3.0)
    shallow = Router().say("G0 X60 Y125", "G1 Z0 F900", "X160 Z-.015 F3000", "G0 Z5").text()
    assert gouges(shallow, SHELF) == []


def test_z_from_the_table_is_understood():
    text = Router().say("G0 X46 Y125 Z30", "G1 Z14 F900", "X60", "G0 Z30").text()
    (finding,) = gouges(text, SHELF, zero="table")
    assert finding.amount_mm == pytest.approx(4.0)
    assert finding.z_mm == pytest.approx(-4.0)


def test_arcs_at_exactly_the_radius_are_no_bite():
    """Noise of chords on both sides stays below 3 micrometres: a path right on the true offset is sound."""
    disc = Part("disc", circle((200, 150), 150.0), (circle((200, 150), 60.0),))
    router = Router().say("G0 X122 Y150", "G1 Z-18 F900", "G2 X122 Y150 I78 J0 F3000", "G0 Z5")
    router.say("G0 X227 Y150", "G1 Z-18 F900", "G3 X227 Y150 I-27 J0", "G0 Z5")
    assert gouges(router.text(), disc) == []
    nearer = router.text().replace("X122", "X122.0165").replace("I78", "I77.9835")
    assert gouges(nearer, disc) == []
    bitten = router.text().replace("X122", "X122.0200").replace("I78", "I77.9800")
    assert [f.amount_mm for f in gouges(bitten, disc)] == pytest.approx([0.02], abs=0.001)


def test_a_blended_path_is_judged_where_it_cuts_corners_short():
    """With G64 P0.5 a corner that turns around the part's corner is cut short into it."""
    spike = Part("spike", rectangle(100, 100, 200, 200))
    path = ("G0 X96.9 Y96.9", "G1 Z-6 F900", "Y203.1 F3000", "X203.1", "Y96.9", "X96.9", "G0 Z5")
    assert gouges(Router().say("G61", *path).text(), spike) == []
    # At the corner the disc's middle is 4.38 away; cut short by 1.5 it comes to 2.88.
    found = gouges(Router().say("G64 P1.5", *path).text(), spike)
    assert found
    assert found[0].amount_mm == pytest.approx(3 - (3.1 * math.sqrt(2) - 1.5), abs=0.002)


def test_equal_parts_are_told_apart_by_copy():
    from dataclasses import replace

    left, right = plate(50, 50, 60, 60, "rail"), plate(150, 50, 60, 60, "rail")
    both = (placed(left)[0], replace(placed(right)[0], copy=2))
    text = Router().say("G0 X180 Y80", "G1 Z-3 F900", "G0 Z5").text()
    verdict = judge(text, both, job(), sheet_size=SHEET, thickness=18.0).verdict
    assert [f.part for f in verdict.findings if f.rule == "gouge"] == ["rail:2"]


def test_the_cutter_in_the_spindle_decides_the_reach():
    cutters = (Cutter(number=1, diameter=6.0), Cutter(number=2, diameter=10.0))
    text = Router(cutter=2).say("G0 X46 Y100", "G1 Z-3 F900", "G0 Z5").text()
    verdict = judge(text, placed(SHELF), job(*cutters), sheet_size=SHEET, thickness=18.0).verdict
    assert [f.amount_mm for f in verdict.findings if f.rule == "gouge"] == [pytest.approx(1.0)]


def test_arcs_in_the_wanted_shape_are_followed():
    """A round-ended bar cut along its true offset, arcs and all."""
    r = 20.0
    outline = Path(
        (
            Line((100, 100), (200, 100)),
            Arc((200, 100), (200, 140), (200, 120), False),
            Line((200, 140), (100, 140)),
            Arc((100, 140), (100, 100), (100, 120), False),
        )
    )
    d = r + 3.005
    router = Router().say(f"G0 X100 Y{120 + d}", "G1 Z-6 F900", "G1 X200 F3000")
    router.say(f"G2 X200 Y{120 - d} I0 J{-d}", "G1 X100", f"G2 X100 Y{120 + d} I0 J{d}", "G0 Z5")
    assert gouges(router.text(), Part("bar", outline)) == []
