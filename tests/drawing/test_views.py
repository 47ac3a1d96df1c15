"""A sheet in several views is read once or asked about; parts drawn several times are told, and all cut."""

from collections.abc import Callable
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from ezdxf.layouts import Modelspace
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.drawing.congruent import Motion, congruent, shapes_of
from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read
from camkit.drawing.same_parts import same_parts
from camkit.drawing.select import select
from camkit.errors import Finding
from camkit.geometry.measure import bounds
from camkit.geometry.path import circle, polygon, rectangle
from camkit.geometry.transform import Placement, moved, moved_point
from camkit.job.model import PartRow
from camkit.part import Hole, LayerRule, Part, Pocket
from tests.support.accounting import unaccounted

Dxf = Callable[..., Drawn]
POCKETS = (LayerRule("pocket", "pocket", 6.0), LayerRule("blind", "hole", 10.0))


class Board:
    """Draws into a model space, shifted and mirrored over x = 0 as asked."""

    def __init__(self, space: Modelspace, x: float = 0, y: float = 0, *, mirror: bool = False) -> None:
        """Its lower left corner lies at (x, y), the lower right one when mirrored."""
        self.space, self.x, self.y, self.sign = space, x, y, -1 if mirror else 1

    def box(self, x: float, y: float, length: float, width: float, layer: str = "cut") -> None:
        """An upright rectangle."""
        corners = [(x, y), (x + length, y), (x + length, y + width), (x, y + width)]
        there = [(self.x + self.sign * u, self.y + v) for u, v in corners]
        self.space.add_lwpolyline(there, close=True, dxfattribs={"layer": layer})

    def hole(self, x: float, y: float, diameter: float, layer: str = "cut") -> None:
        """A circle."""
        centre = (self.x + self.sign * x, self.y + y)
        self.space.add_circle(centre, diameter / 2, dxfattribs={"layer": layer})

    def text(self, said: str, x: float, y: float) -> None:
        """A text."""
        self.space.add_text(said).set_placement((self.x + self.sign * x, self.y + y))


def bench(board: Board, layer: str = "cut") -> None:
    """Two different parts side by side, 700 x 300 together, with two openings and a hole."""
    board.box(0, 0, 400, 300, layer)
    board.box(50, 50, 100, 18, layer)
    board.hole(300, 200, 8, layer)
    board.box(420, 0, 280, 200, layer)
    board.box(500, 50, 18, 100, layer)


def told(found: Drawn, rule: str) -> list[Finding]:
    return [finding for finding in found.findings if finding.rule == rule]


def test_a_set_drawn_twice_is_cut_twice_and_asked_about(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        bench(Board(space))
        bench(Board(space, 0, 500))

    found = dxf(draw)
    assert len(found.parts) == 4
    (finding,) = told(found, "views-unclear")
    assert finding.level == "warning"
    assert "2 parts are drawn 2 times" in finding.message and "all are cut" in finding.message
    assert "[[part]]" in finding.remedy and "ignore" in finding.remedy
    assert unaccounted(found) == 0


@pytest.mark.parametrize("words", [("FRONT", "BACK"), ("Vorderseite", "Rückseite"), ("side A", "side B")])
@pytest.mark.parametrize("mirror", [False, True])
def test_words_beside_two_groups_make_them_views(dxf: Dxf, words: tuple[str, str], mirror: bool) -> None:
    def draw(space: Modelspace) -> None:
        bench(Board(space, 1000, 0, mirror=True))
        space.add_text(words[1]).set_placement((600, -40))
        bench(Board(space, 1100))
        space.add_text(words[0]).set_placement((1400, -40))
        if not mirror:
            for entity in list(space):
                space.delete_entity(entity)
            bench(Board(space, 0, 0))
            space.add_text(words[1]).set_placement((300, -60))
            bench(Board(space, 0, 500))
            space.add_text(words[0]).set_placement((300, 860))

    found = dxf(draw)
    (finding,) = told(found, "view-repeated")
    assert len(found.parts) == len(found.again) == 2
    assert finding.count == 5 and finding.level == "warning"
    x0, y0, *_ = bounds(found.parts[0].outline)
    assert (x0, y0) == ((1100, 0) if mirror else (0, 500))
    assert not told(found, "views-unclear") and not told(found, "texts")
    assert unaccounted(found) == 0


def test_layers_that_name_faces_make_views(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        bench(Board(space), "back_cut")
        bench(Board(space, 0, 500), "front_cut")

    found = dxf(draw)
    assert {part.source.layer for part in found.parts} == {"front_cut"}
    assert {part.source.layer for part in found.again} == {"back_cut"}


def test_front_and_back_are_names_of_two_equal_parts(dxf: Dxf) -> None:
    """The front and the back of a drawer are cut alike."""

    def draw(space: Modelspace) -> None:
        for number, name in enumerate(("Front", "Back")):
            board = Board(space, 0, 200 * number)
            board.box(0, 0, 400, 100)
            board.text(name, 100, 110)

    found = dxf(draw)
    assert [part.name for part in found.parts] == ["Front", "Back"]
    assert found.again == () and not told(found, "views-unclear")


def test_one_part_in_two_named_views_is_read_once(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        for number, name in enumerate(("front view", "back view")):
            board = Board(space, 0, 200 * number)
            board.box(0, 0, 400, 100)
            board.text(name, 100, 110)

    found = dxf(draw)
    assert (len(found.parts), len(found.again)) == (1, 1)
    assert bounds(found.parts[0].outline)[1] == 0


def test_pockets_of_the_other_face_are_kept_apart_and_counted(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        front, back = Board(space), Board(space, 1500, 0, mirror=True)
        for board in (front, back):
            bench(board)
        front.box(200, 200, 60, 40, "pocket")
        back.box(20, 200, 60, 40, "pocket")
        back.hole(600, 20, 8, "blind")
        front.text("front view", 100, -20)
        back.text("rear view", 100, -20)

    found = dxf(draw, rules=POCKETS)
    assert len(found.parts) == 2
    assert [len(part.pockets) for part in found.parts] == [1, 0]
    assert all(hole.depth is None for part in found.parts for hole in part.holes)
    (finding,) = told(found, "other-face")
    assert (finding.count, finding.level) == (2, "warning")
    # The back is mirrored about x = 750: what is drawn at 20 to 80 lies at 1420 to 1480.
    assert ": pocket 60.0 x 40.0 at (1450.0, 220.0), blind hole 8.0 at (900.0, 20.0), at (" in finding.message
    assert unaccounted(found) == 0


def test_mirrored_views_with_other_pockets_need_no_words(dxf: Dxf) -> None:
    """The view with more pockets and blind holes is the face to cut."""

    def draw(space: Modelspace) -> None:
        front, back = Board(space), Board(space, 1500, 0, mirror=True)
        for board in (front, back):
            bench(board)
        front.box(200, 200, 60, 40, "pocket")
        back.box(20, 200, 60, 40, "pocket")
        back.hole(600, 20, 8, "blind")

    found = dxf(draw, rules=POCKETS)
    assert [bounds(part.outline)[0] for part in found.parts] == [800, 1100]
    assert sum(len(part.pockets) for part in found.parts) == 1
    assert [finding.count for finding in told(found, "other-face")] == [1]


def test_handed_sets_are_two_sets(dxf: Dxf) -> None:
    """Mirrored through and through, pockets too: left and right of one piece. All are cut and asked about."""

    def draw(space: Modelspace) -> None:
        for board in (Board(space), Board(space, 1500, 0, mirror=True)):
            bench(board)
            board.box(200, 200, 60, 40, "pocket")

    found = dxf(draw, rules=POCKETS)
    assert len(found.parts) == 4
    assert "mirrored" in told(found, "views-unclear")[0].message


def test_two_ends_of_a_cabinet_are_both_cut_however_they_are_drilled(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        left, right = Board(space), Board(space, 1000, 0, mirror=True)
        for board in (left, right):
            board.box(0, 0, 400, 300)
            board.box(0, 0, 30, 20)  # a notch drawn as an opening tells the ends apart
        left.hole(200, 100, 8, "blind")

    found = dxf(draw, rules=POCKETS)
    assert len(found.parts) == 2
    assert not told(found, "view-repeated")


def test_a_mirrored_sheet_in_a_border_of_its_own_is_its_reverse(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        for board in (Board(space), Board(space, 3000, 0, mirror=True)):
            bench(board)
            board.box(-20, -20, 1250, 625, "sheet")

    found = dxf(draw)
    assert [bounds(part.outline)[0] for part in found.parts] == [0, 420]
    assert len(told(found, "view-repeated")) == 1
    assert found.sheet_edge is not None and bounds(found.sheet_edge) == (-20, -20, 1230, 605)
    assert unaccounted(found) == 0


def test_two_equal_sheets_are_two_sheets(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        for board in (Board(space), Board(space, 3000, 0)):
            bench(board)
            board.box(-20, -20, 1250, 625, "sheet")

    found = dxf(draw)
    assert len(found.parts) == 4 and len(told(found, "views-unclear")) == 1


def test_what_goes_through_shows_on_both_faces(dxf: Dxf) -> None:
    """Loops that one view lacks cannot be cut through: told, with the number on each side."""

    def draw(space: Modelspace) -> None:
        front, back = Board(space), Board(space, 0, 500)
        for board in (front, back):
            bench(board)
        front.box(200, 200, 60, 40)
        front.text("front view", 100, -20)
        back.text("rear view", 100, 320)

    (finding,) = told(dxf(draw), "seen-once")
    assert finding.count == 1 and "1 in the one that is cut, 0 in the other" in finding.message


def test_three_views_in_a_row_are_found(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        for number in range(3):
            bench(Board(space, 0, 500 * number))

    found = dxf(draw)
    assert len(found.parts) == 6
    assert "drawn 3 times" in told(found, "views-unclear")[0].message


@pytest.mark.parametrize("gap", [20, 320])
def test_parts_that_repeat_one_by_one_are_not_views(dxf: Dxf, gap: float) -> None:
    """Ten wedges, or pairs of parts laid side by side: quantities."""

    def draw(space: Modelspace) -> None:
        for number in range(10):
            Board(space, 100 * number, 0).box(0, 0, 40, 20)
        for number in range(2):
            Board(space, 420 * number, 100).box(0, 0, 400, 300)
            Board(space, 420 * number, 420).box(0, 0, 400, gap)

    found = dxf(draw)
    assert len(found.parts) == 14
    assert not told(found, "views-unclear") and not told(found, "view-repeated")


def test_a_row_of_the_job_can_pick_a_part_of_the_other_view(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        bench(Board(space), "back_cut")
        bench(Board(space, 0, 500), "front_cut")

    found = dxf(draw)
    chosen = select([found], [PartRow(name="back", at=(390, 10)), PartRow(name="front", at=(390, 510))])
    assert [(part.name, part.source.layer) for _, part in chosen.parts] == [
        ("back", "back_cut"),
        ("front", "front_cut"),
    ]
    assert "part 2" in chosen.findings[0].message and "other view" not in chosen.findings[0].message


def test_copies_are_told_once_for_each_part(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        for number in range(10):
            space.add_lwpolyline([(60 * number, 0), (60 * number + 40, 0), (60 * number, 23)], close=True)
        space.add_lwpolyline([(0, 100), (0, 140), (23, 100)], close=True)  # mirrored
        Board(space, 200, 100).box(0, 0, 100, 50)
        Board(space, 400, 100).box(0, 0, 50, 100)  # turned
        Board(space, 500, 100).box(0, 0, 100, 50)
        Board(space, 500, 100).hole(30, 20, 8)

    found = dxf(draw)
    assert len(found.parts) == 14
    assert [finding.count for finding in told(found, "same-part")] == [11, 2]
    assert told(found, "same-part")[1].message.startswith("part 12 and part 13 are one part, drawn 2 times")


L_SHAPE = polygon([(0, 0), (300, 0), (300, 80), (90, 80), (90, 200), (0, 200)])
PLATE = Part("plate", L_SHAPE, (rectangle(20, 100, 60, 118),), (Hole((200, 40), 8.0),))
RECESSED = Part("plate", L_SHAPE, pockets=(Pocket(rectangle(20, 100, 60, 118), 6.0),))
DISC = Part("disc", circle((0, 0), 200), holes=(Hole((60, 20), 8.0), Hole((0, 0), 12.0)))


def placed(part: Part, placement: Placement) -> Part:
    holes = tuple(Hole(moved_point(h.centre, placement), h.diameter, h.depth) for h in part.holes)
    pockets = tuple(Pocket(moved(p.outline, placement), p.depth) for p in part.pockets)
    openings = tuple(moved(path, placement) for path in part.openings)
    return Part(part.name, moved(part.outline, placement), openings, holes, pockets)


@pytest.mark.parametrize("part", [PLATE, RECESSED, DISC], ids=["plate", "recessed", "disc"])
@settings(derandomize=True, deadline=None, max_examples=15)
@given(st.floats(-3000, 3000), st.floats(-3000, 3000), st.floats(0, 360), st.booleans())
def test_a_part_is_known_again_wherever_it_lies(
    part: Part, x: float, y: float, turn: float, mirrored: bool
) -> None:
    """Turned over only when nothing in it has a depth."""
    there = placed(part, Placement(x, y, turn, mirrored))
    over = mirrored and bool(part.pockets)
    assert bool(same_parts([part, there])) is not over


@pytest.mark.parametrize("off", [0.004, 0.05])
def test_parts_that_differ_by_more_than_a_hundredth_are_two(off: float) -> None:
    other = Part("other", L_SHAPE, (rectangle(20 + off, 100, 60 + off, 118),), PLATE.holes)
    assert bool(same_parts([PLATE, other])) is (off < 0.01)
    bored = Part("other", L_SHAPE, PLATE.openings, (Hole((200, 40 + off), 8.0),))
    assert bool(same_parts([PLATE, bored])) is (off < 0.01)


def test_the_motion_between_two_copies_is_the_one_that_was_made() -> None:
    placement = Placement(120, -40, 33, True)
    motion = congruent(*shapes_of([PLATE, placed(PLATE, placement)]))
    assert motion is not None
    spots = np.array([(0.0, 0.0), (200.0, 40.0), (90.0, 200.0)])
    wanted = [moved_point((float(x), float(y)), placement) for x, y in spots]
    assert motion.applied(spots) == pytest.approx(np.array(wanted), abs=0.01)
    both = motion.inverse.after(motion)
    assert both.applied(spots) == pytest.approx(spots, abs=1e-9)
    assert Motion(((1.0, 0.0), (0.0, 1.0))).inverse.shift == (0, 0)


def test_many_parts_are_sorted_out_and_told_in_few_words(tmp_path: Path) -> None:
    """A hundred parts, six times each."""
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    for number in range(600):
        board = Board(space, 130 * (number % 50), 130 * (number // 50))
        board.box(0, 0, 60 + number % 100 / 2, 90)
        board.hole(20, 20, 6)
    document.saveas(tmp_path / "many.dxf")
    found = read(tmp_path / "many.dxf")
    assert len(found.parts) == 600
    assert sum(finding.rule == "same-part" for finding in found.findings) == 13
    assert [finding.count for finding in told(found, "same-part")][:12] == [6] * 12
