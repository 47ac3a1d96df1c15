"""Hold-down screws and keep-outs, measured in the program's text."""

from __future__ import annotations

import re

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box
from support.replayed import Move, replay
from support.router import placed, plate

from camkit.errors import Finding
from camkit.geometry.path import rectangle
from camkit.job.fixtures import HoldDown, KeepOut
from camkit.job.model import Cutter, Job, Machine, Sheet
from camkit.part import Part, Pocket
from camkit.program.runs import written
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.simulation.situation import Situation
from camkit.toolpath.plan import plan

SIZE = (900.0, 600.0)
THICKNESS = 18.0
SIX = Cutter(number=1, diameter=6.0, kind="upcut spiral")
DRILL = Cutter(number=2, diameter=4.5, kind="drill")
CUTTERS = (SIX, DRILL)
LEFT, RIGHT = plate(80, 80, 300, 400, name="left"), plate(460, 80, 300, 400, name="right")


def made(
    *parts: Part,
    cutters: tuple[Cutter, ...] = CUTTERS,
    keep_out: tuple[KeepOut, ...] = (),
    hold_down: HoldDown | None = None,
    size: tuple[float, float] = SIZE,
    **machine: object,
) -> tuple[str, list[Finding]]:
    """The program of the parts as drawn, and all that plan and judge say of it."""
    own = Job(
        sheet=Sheet(measured_thickness=(THICKNESS,)),
        cutter=cutters,
        machine=Machine(**machine),
        keep_out=keep_out,
        hold_down=hold_down,
    )
    planned = plan(placed(*parts), own, size, THICKNESS)
    text = write(planned.cuts, own, own.sheet[0], name="test", size=size)
    said = judge(text, placed(*parts), own, sheet_size=size, thickness=THICKNESS).verdict
    return text, [*planned.findings, *said.findings]


def wrong(findings: list[Finding]) -> list[str]:
    return [finding.rule for finding in findings if finding.level != "note"]


def moves_of(text: str, cutters: tuple[Cutter, ...] = CUTTERS) -> list[Move]:
    return replay(text, {cutter.number: cutter.diameter for cutter in cutters})


def screws(text: str, cutters: tuple[Cutter, ...] = CUTTERS) -> list[tuple[float, float]]:
    """Where the cutter goes through the sheet before the first stop with a message to fit screws."""
    before = text[: text.index("MSG, fit ") if "screws" not in text else text.index(" screws of ")].count(
        "\n"
    )
    through = [m for m in moves_of(text, cutters) if m.line <= before and m.points[:, 2].min() < -THICKNESS]
    return sorted({(round(float(m.points[-1][0]), 1), round(float(m.points[-1][1]), 1)) for m in through})


def gap(moves: list[Move], area: shapely.Geometry, below: float) -> float:
    """The least room between the cutter's rim and an area while its tip is below a height."""
    low = [m for m in moves if m.points[:, 2].min() < below - 1e-6]
    lines = [
        Point(m.points[0][:2]) if np.ptp(m.points[:, :2], axis=0).max() == 0 else LineString(m.points[:, :2])
        for m in low
    ]
    return min(line.distance(area) - m.diameter / 2 for line, m in zip(lines, low, strict=True))


def test_screws_are_found_in_the_waste_drilled_first_and_fitted_at_a_stop_with_the_spindle_off() -> None:
    text, said = made(LEFT, RIGHT, hold_down=HoldDown())
    assert wrong(said) == []
    lines = text.splitlines()
    cuts = [re.sub(r"\d+ ", "", line, count=1) for line in lines if line.startswith("(CUT ")]
    count = sum("HOLD-DOWN" in cut for cut in cuts)
    assert count >= 4 and all("HOLD-DOWN" in cut for cut in cuts[:count])
    stop = next(i for i, line in enumerate(lines) if f"MSG, fit {count} screws of 4 mm" in line)
    assert lines[stop + 1] == "M0"
    before = lines[:stop]
    assert before[-1 - count] == "M5" and before[-2 - count] == "G0 Z15"
    told = [tuple(map(float, re.findall(r"[XY]([\d.]+)", line))) for line in before[-count:]]
    assert sorted(told) == screws(text)
    # In the air nothing is drilled, so nothing is fitted.
    own = Job(sheet=Sheet(measured_thickness=(THICKNESS,)), cutter=CUTTERS, hold_down=HoldDown())
    cut = plan(placed(LEFT, RIGHT), own, SIZE, THICKNESS).cuts
    aloft = write(cut, own, own.sheet[0], name="test", size=SIZE, higher=40.0)
    assert "HOLD-DOWN" in aloft and "screw" not in aloft
    assert next(line for line in lines[stop:] if line.startswith("S")).endswith("M3")


def test_their_heads_are_clear_of_every_cut_and_of_travel_and_no_waste_is_far_from_one() -> None:
    """Trade figure: head radius + cutter radius + 5 from the centre path; at least 4, near the corners."""
    text, _ = made(LEFT, RIGHT, hold_down=HoldDown(apart=300))
    places = screws(text)
    after = text[: text.index(" screws of ")].count("\n")
    later = [m for m in moves_of(text) if m.line > after]
    for place in places:
        head = Point(place).buffer(4.0, 64)
        assert gap(later, head, below=4.0) >= 5.0 - 1e-3
        assert gap(later, head, below=6.0) >= 0.0
        for part in (LEFT, RIGHT):
            x0, y0, x1, y1 = part.bounds()
            assert head.distance(box(x0, y0, x1, y1)) > 6 + 5
    for corner in ((0, 0), (900, 0), (0, 600), (900, 600)):
        assert min(Point(place).distance(Point(corner)) for place in places) < 20
    waste = box(20, 20, 880, 580).difference(
        shapely.union_all([box(60, 60, 400, 500), box(440, 60, 780, 500)])
    )
    for spot in (Point(x, y) for x in range(20, 881, 20) for y in range(20, 581, 20)):
        if waste.covers(spot):
            assert min(spot.distance(Point(place)) for place in places) <= 300 + 15


def test_screws_stand_in_waste_that_stays_held_never_in_what_an_opening_sets_free() -> None:
    frame = plate(100, 60, 700, 480, name="frame", openings=(rectangle(200, 160, 700, 440),))
    text, said = made(frame, hold_down=HoldDown(apart=150))
    assert wrong(said) == []
    assert len(screws(text)) >= 8
    for x, y in screws(text):
        assert not (95 < x < 805 and 55 < y < 545)


def test_places_that_the_job_gives_are_used_and_those_in_the_way_are_errors_that_say_what_is_near() -> None:
    good = HoldDown(places=((30, 30), (870, 30), (30, 570), (870, 570)))
    text, said = made(LEFT, RIGHT, hold_down=good)
    assert wrong(said) == []
    assert screws(text) == sorted((float(x), float(y)) for x, y in good.places)
    _, said = made(LEFT, RIGHT, hold_down=HoldDown(places=((200, 200), (70, 300), (30, 30))))
    told = [f.message for f in said if f.rule == "screw-place"]
    assert "at (200, 200) lies in 'left'" in told[0] and "at (70, 300) lies 10.0 mm off 'left'" in told[1]


def test_a_sheet_without_room_for_screws_says_so() -> None:
    tight = (320.0, 220.0)
    _, said = made(plate(10, 10, 300, 200), hold_down=HoldDown(), size=tight)
    assert "no-screw-place" in wrong(said)
    clamp = KeepOut(kind="clamp", box=(40, 0, 310, 34), height=10.0)
    part = plate(10, 50, 300, 160)
    _, said = made(part, hold_down=HoldDown(head=6.0, hole=4.5), size=tight, keep_out=(clamp,))
    assert [f.message for f in said if f.rule == "few-screws"] == [
        "the waste has room for 3 hold-down screws only, not for 4"
    ]


def test_their_holes_are_bored_where_no_drill_fits_and_an_error_says_when_nothing_does() -> None:
    three = Cutter(number=3, diameter=3.0)
    text, said = made(LEFT, cutters=(SIX, three), hold_down=HoldDown())
    assert wrong(said) == []
    first = next(m for m in moves_of(text, (SIX, three)) if m.points[:, 2].min() < -1)
    assert first.diameter == 3.0 and len(first.points) > 2
    _, said = made(LEFT, cutters=(SIX,), hold_down=HoldDown())
    (missing,) = [f for f in said if f.rule == "no-cutter"]
    assert missing.message == "no cutter on hand makes a hold-down hole of 4.5 mm through the sheet"
    assert missing.remedy.startswith("Add a drill of 4.5 mm to the job")


@pytest.mark.parametrize("kind", ["clamp", "screw"])
def test_a_cut_that_would_meet_a_clamp_is_left_out_by_name_and_the_rest_is_made(kind: str) -> None:
    """The profile runs 6 beside the part: a clamp 11.5 off is clear by 5, one 10.5 off by less."""
    for off, refused in ((11.1, False), (10.5, True)):
        row = KeepOut(kind=kind, box=(20, 200, 80 - off, 260), height=12.0, name="west")
        text, said = made(LEFT, RIGHT, keep_out=(row,))
        told = [f for f in said if f.rule == "keep-out"]
        assert bool(told) is refused
        assert ("PROFILE LEFT" in text) is not refused and "PROFILE RIGHT" in text
        if refused:
            assert told[0].part == "left" and told[0].level == "error"
            assert told[0].message == (
                f"the profile would be cut {off - 6.005:.1f} mm beside {kind} 'west', nearer than 5 mm"
            )
        else:
            assert wrong(said) == []
            assert gap(moves_of(text), box(20, 200, 80 - off, 260), below=12.0) >= 5.0 - 0.02


def test_leads_go_elsewhere_when_a_clamp_stands_where_they_would_be() -> None:
    plain, _ = made(LEFT)
    begins = next(m for m in moves_of(plain) if m.points[-1][2] < 1 and m.points[:, 2].max() < 3).points[0]
    x, y = float(begins[0]), float(begins[1])
    beside = (x - 2, y - 12, x + 2, y - 3) if y < 80 else (x - 12, y - 2, x - 3, y + 2)
    there = KeepOut(kind="clamp", box=beside, height=8)
    assert there.box is not None
    text, said = made(LEFT, keep_out=(there,))
    assert wrong(said) == []
    assert gap(moves_of(text), box(*there.box), below=8.0) >= 5.0 - 0.02


def test_travel_leads_low_but_over_what_stands_in_its_way_at_safe_height() -> None:
    wall = KeepOut(kind="clamp", box=(405, 0, 435, 600), height=12.0)
    text, said = made(LEFT, RIGHT, keep_out=(wall,))
    assert wrong(said) == []
    area = box(405, 0, 435, 600)
    ways = [(m.points, LineString(m.points[:, :2] + [0, 1e-9])) for m in moves_of(text)]
    over = [points for points, way in ways if way.intersects(area)]
    assert over and all(points[:, 2].min() >= 14 for points in over)
    low = KeepOut(kind="clamp", box=(405, 0, 435, 600), height=2.0)
    assert made(LEFT, RIGHT, keep_out=(low,))[0] == made(LEFT, RIGHT)[0] != text


def test_nothing_is_cut_through_over_a_pod_but_pockets_are() -> None:
    pod = KeepOut(kind="pod", at=(230, 280), diameter=100.0)
    recessed = plate(80, 80, 300, 400, pockets=(Pocket(rectangle(200, 250, 260, 310), 6.0),))
    text, said = made(recessed, keep_out=(pod,))
    assert wrong(said) == [] and "POCKET" in text
    opened = plate(80, 80, 300, 400, openings=(rectangle(200, 250, 260, 310),))
    _, said = made(opened, keep_out=(pod,))
    (told,) = [f for f in said if f.rule == "keep-out"]
    assert told.message.startswith("the opening would be cut through over the pod at (230, 280)")


def test_separate_programs_stop_for_screws_between_them_and_the_judge_remembers_where_they_stand() -> None:
    own = Job(
        sheet=Sheet(measured_thickness=(THICKNESS,)),
        cutter=CUTTERS,
        machine=Machine(cutter_change="separate programs"),
        hold_down=HoldDown(),
    )
    parts = placed(LEFT, RIGHT)
    first, second = written(plan(parts, own, SIZE, THICKNESS).cuts, own, own.sheet[0], name="test", size=SIZE)
    assert "MSG, fit" in first.text and first.text.rstrip().endswith("M30") and "screws" not in second.text
    read = judge(first.text, parts, own, sheet_size=SIZE, thickness=THICKNESS).reading
    x, y = screws(first.text)[0]
    over = f"G0 X{x - 20} Y{y}\nG0 Z3\nG0 X{x + 20}\nG0 Z15\n"
    at = second.text.index("(CUT ")
    for text, rules in ((second.text, []), (second.text[:at] + over + second.text[at:], ["fixture-hit"])):
        said = judge(
            text, parts, own, sheet_size=SIZE, thickness=THICKNESS, situation=Situation(before=(read,))
        ).verdict
        assert [f.rule for f in said.findings if f.level == "error"] == rules


def test_without_fixtures_the_program_is_the_same_as_ever() -> None:
    text, said = made(LEFT, RIGHT)
    assert wrong(said) == [] and "HOLD-DOWN" not in text and "screw" not in text
