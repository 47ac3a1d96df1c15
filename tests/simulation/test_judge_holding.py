"""Rule `loose-part`: what nothing holds once it is cut through."""

import pytest
from support.router import Router, job, placed, plate

from camkit.errors import Finding
from camkit.geometry.path import rectangle
from camkit.job.model import Tabs
from camkit.part import Hole, Part, Pocket
from camkit.simulation.judge import judge

SHEET = (400.0, 300.0)
SHELF = plate(50, 50)
FRAME = plate(50, 50, openings=(rectangle(100, 80, 140, 120),))


def loose(router: Router, *parts: Part, sheet: tuple[float, float] = SHEET) -> list[Finding]:
    verdict = judge(router.text(), placed(*parts), job(), sheet_size=sheet, thickness=18.0).verdict
    assert {f.rule for f in verdict.findings} <= {"loose-part"}
    return list(verdict.findings)


def test_tabs_hold_a_part():
    assert loose(Router().around(50, 50, 250, 150), SHELF) == []


def test_one_narrow_tab_holds_it_too():
    router = Router().around(50, 50, 250, 150, tabs=0)
    # The last pass begins 7 mm along the left side and ends where that side begins: 1 mm of wood between.
    start = next(n for n, line in enumerate(router.lines) if line.startswith("G1 Z-18.2"))
    router.lines[start : start + 1] = ["G0 Z1", "G0 Y57", "G1 Z-18.2 F900"]
    assert loose(router, SHELF) == []


def test_a_part_without_tabs_is_loose_from_the_line_that_closes_its_outline():
    router = Router().around(50, 50, 250, 150, tabs=0)
    (finding,) = loose(router, SHELF)
    assert (finding.level, finding.part) == ("error", "shelf")
    assert "nothing holds the part" in finding.message
    # The corner arc begun on the last line closes the loop but for what the first plunge had cut.
    last = max(n for n, line in enumerate(router.lines, start=1) if line.startswith(("G1", "G2")))
    assert finding.line in (last - 1, last)


def test_cutting_on_in_a_free_part_is_told_with_both_lines():
    router = Router().around(50, 50, 250, 150, tabs=0)
    closed = len(router.lines)
    router.bore((70, 70), 8)
    part = plate(50, 50, holes=(Hole((70, 70), 8.0),))
    (finding,) = loose(router, part)
    assert finding.line is not None
    assert finding.line <= closed
    assert f"line {finding.line} cuts the part free, and line " in finding.message


def test_openings_first_and_tabs_is_the_sound_order():
    router = Router().bore((70, 70), 8).clear(180, 60, 240, 100, 4).around(50, 50, 250, 150)
    part = plate(50, 50, holes=(Hole((70, 70), 8.0),), pockets=(Pocket(rectangle(180, 60, 240, 100), 4.0),))
    assert loose(router, part) == []


def test_tabs_cut_away_at_last_free_the_part_there():
    router = Router().around(50, 50, 250, 150)
    router.say("G0 X142 Y153.005", "G1 Z-18.2 F900", "X158 F3600", "G0 Z15")
    assert loose(router, SHELF) == []  # one tab still holds
    router.say("G0 X142 Y46.995", "G1 Z-18.2 F900", "X158 F3600")
    line = len(router.lines)
    router.say("G0 Z15")
    (finding,) = loose(router, SHELF)
    assert finding.line == line
    assert finding.x_mm == pytest.approx(150, abs=5)
    assert finding.y_mm == pytest.approx(47, abs=0.1)


def test_waste_wider_than_the_cutter_comes_free():
    """A square of 40 cut around inside with 6 mm leaves a square of 28."""
    (finding,) = loose(Router().inside(100, 80, 140, 120).around(50, 50, 250, 150), FRAME)
    assert finding.amount_mm == pytest.approx(27.99, abs=0.01)
    assert finding.part == "shelf"
    assert "comes free in opening 1" in finding.message
    assert 100 < finding.x_mm < 140
    assert 80 < finding.y_mm < 120


def test_waste_as_narrow_as_the_cutter_is_let_pass():
    """A mortise of 18 leaves a strip of 5.99."""
    part = plate(50, 50, openings=(rectangle(100, 80, 140, 98),))
    assert loose(Router().inside(100, 80, 140, 98).around(50, 50, 250, 150), part) == []


def test_waste_milled_away_is_gone():
    router = Router()
    for half in (20.0, 14.3, 8.6, 3.6):
        router.inside(120 - half, 100 - half, 120 + half, 100 + half)
    assert loose(router.around(50, 50, 250, 150), FRAME) == []


def test_waste_with_a_tab_is_held():
    """Around inside, but for a bridge of 7 mm of wood amid the lower wall, lowered only to 15."""
    d = 3.005
    x0, y0, x1, y1 = 100 + d, 80 + d, 140 - d, 120 - d
    router = Router().say(f"G0 X{x0} Y{y0}", "G0 Z1")
    for z in (-6, -12, -15):
        router.say(f"G1 Z{z} F900", f"X{x1} F3600", f"Y{y1}", f"X{x0}", f"Y{y0}")
    router.say(
        "X113.5", "G0 Z1", f"X{x0}", "G1 Z-18.2 F900", "X113.5 F3600", "G0 Z1", "X126.5", "G1 Z-18.2 F900"
    )
    router.say(f"X{x1} F3600", f"Y{y1}", f"X{x0}", f"Y{y0}", "G0 Z15")
    assert loose(router.around(50, 50, 250, 150), FRAME) == []


def test_offcuts_between_parts_are_not_parts():
    """Four slots around nothing that is wanted free a piece of the sheet, which nobody asked for."""
    router = Router().around(50, 50, 250, 150).around(300, 200, 340, 240, tabs=0)
    assert loose(router, SHELF) == []


def test_a_part_held_only_by_a_free_offcut_is_loose():
    """A slot all around part, tabs and the strip that the tabs hold on to."""
    router = Router().around(50, 50, 250, 150).around(30, 30, 270, 170, tabs=0)
    (finding,) = loose(router, SHELF)
    assert finding.part == "shelf"


def test_two_parts_that_hold_each_other_are_both_loose():
    """Left and right half with a tab between them, and one slot around both."""
    left, right = plate(50, 50, 97, 100, "left"), plate(153.1, 50, 96.9, 100, "right")
    router = Router().say("G0 X150.05 Y53", "G1 Z-6 F900", "Y150 F3600", "Z-12 F900", "Y53 F3600")
    router.say("Z-18.2 F900", "Y90", "G0 Z1", "Y110", "G1 Z-18.2 F900", "Y150 F3600", "G0 Z15")
    router.around(50, 50, 250, 150, tabs=0)
    verdict = judge(router.text(), placed(left, right), job(), sheet_size=SHEET, thickness=18.0).verdict
    assert sorted(f.part for f in verdict.findings if f.rule == "loose-part") == ["left", "right"]


def test_a_part_that_keeps_the_sheets_edge_is_no_frame_for_itself():
    """A part on the sheet's left edge: three slots cut it free although it touches the edge."""
    part = Part("flush", rectangle(0, 100, 80, 200))
    router = Router().say("G0 X-5 Y203.005", "G1 Z-18.2 F900", "X80 F3600", "G2 X83.005 Y200 I0 J-3.005")
    router.say("G1 Y100", "G2 X80 Y96.995 I-3.005 J0", "G1 X-5", "G0 Z15")
    verdict = judge(router.text(), placed(part), job(), sheet_size=SHEET, thickness=18.0).verdict
    assert [f.part for f in verdict.findings if f.rule == "loose-part"] == ["flush"]


def test_an_uncut_part_is_not_loose():
    verdict = judge(Router().text(), placed(SHELF), job(), sheet_size=SHEET, thickness=18.0).verdict
    assert [f.rule for f in verdict.findings] == ["uncut"]


def judged(text: str, *parts: Part, **tabs: object) -> list[Finding]:
    wanted = job().model_copy(update={"tabs": Tabs.model_validate(tabs)})
    return list(judge(text, placed(*parts), wanted, sheet_size=SHEET, thickness=18.0).verdict.findings)


@pytest.mark.parametrize(
    ("stays", "rule"),
    [
        (0.5, None),
        (0.54, None),
        (0.56, "uncut"),
        (1.5, "uncut"),
        (0.26, None),
        (0.24, "loose-part"),
        (-0.2, "loose-part"),
    ],
)
def test_a_skin_holds_a_part_when_it_is_as_thick_as_asked_or_half_of_that(
    stays: float, rule: str | None
) -> None:
    text = Router(thickness=18.0 - stays - 0.2).around(50, 50, 250, 150, tabs=0).text()
    told = judged(text, SHELF, hold="skin", skin=0.5)
    assert [f.rule for f in told] == ([] if rule is None else [rule])
    if rule == "uncut":
        assert "the outline, but for its skin of 0.5 mm, is not cut through" in told[0].message
    # Where tabs are asked for, a skin is wood left uncut.
    assert [f.rule for f in judged(text, SHELF)] == (["uncut"] if stays > 0 else ["loose-part"])


def test_tabs_and_openings_right_through_are_sound_where_a_skin_is_asked_for_too() -> None:
    part = plate(50, 50, holes=(Hole((70, 70), 8.0),), openings=(rectangle(100, 60, 112, 72),))
    router = Router().bore((70, 70), 8).inside(100, 60, 112, 72)
    router.thickness = 17.3
    assert judged(router.around(50, 50, 250, 150, tabs=0).text(), part, hold="skin", skin=0.5) == []


def test_vacuum_holds_a_part_that_is_large_enough_until_it_is_cut_again() -> None:
    """Friction 0.3 of 30 kPa on 200 x 100 mm is 180 N, more than three times 40; on 100 x 100 it is 90."""
    text = Router().around(50, 50, 250, 150, tabs=0).text()
    assert judged(text, SHELF, hold="vacuum") == []
    assert [f.rule for f in judged(text, SHELF, hold="vacuum", vacuum_kpa=15)] == ["loose-part"]  # 90 N
    small = plate(50, 50, 100.0, 100.0)
    text = Router().around(50, 50, 150, 150, tabs=0).text()
    assert [f.rule for f in judged(text, small, hold="vacuum")] == ["loose-part"]
    assert judged(text, small, hold="vacuum", vacuum_kpa=40.1) == []

    bored = plate(50, 50, holes=(Hole((70, 70), 8.0),))
    first, last = (Router(), Router())
    assert judged(first.bore((70, 70), 8).around(50, 50, 250, 150, tabs=0).text(), bored, hold="vacuum") == []
    (told,) = judged(last.around(50, 50, 250, 150, tabs=0).bore((70, 70), 8).text(), bored, hold="vacuum")
    assert told.rule == "loose-part" and "still cuts it" in told.message
    assert told.remedy == "Cut everything inside it first, and its outline last"


def test_vacuum_holds_waste_that_is_large_enough() -> None:
    for wide, rules in ((140.0, []), (100.0, ["loose-part"])):
        frame = plate(20, 20, 360.0, 260.0, openings=(rectangle(100, 60, 100 + wide, 200),))
        router = Router().inside(100, 60, 100 + wide, 200).around(20, 20, 380, 280, tabs=0)
        assert [f.rule for f in judged(router.text(), frame, hold="vacuum")] == rules
