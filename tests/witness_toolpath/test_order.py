"""In which order the text cuts: kinds as the trade has it, inner before outer, freed parts left alone."""

from __future__ import annotations

import itertools
import math
import pathlib

import numpy as np
import pytest
from shapely import Point
from support.signed_holding import changes
from support.signed_paths import carved
from support.steps import Step, steps
from support.trials import Bore, Piece, Recess, Trial, box, disc, made, rounded, texts

CUTTERS = [
    {"number": 1, "kind": "upcut spiral", "diameter": 6.0},
    {"number": 2, "kind": "drill", "diameter": 4.5},
    {"number": 3, "kind": "straight", "diameter": 3.0},
]
PIECES = (
    Piece(
        "large",
        box(40, 60, 260, 200),
        (45, 65),
        (box(60, 80, 160, 180),),
        (Recess(box(180, 80, 220, 120), 4),),
        (Bore(240, 180, 4.5), Bore(200, 160, 12)),
    ),
    Piece("inner", rounded(85, 105, 135, 155, 8), (90, 130), (), (), (Bore(110, 130, 4.5),)),
    Piece("near", disc(300, 130, 25), (290, 130), (), (Recess(rounded(290, 120, 310, 140, 4), 3),)),
)
TRIAL = Trial(PIECES, (360, 240), 9.0, CUTTERS, {}, {"height": 2.0}, "[hold_down]\n")


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> str:
    (found,) = texts(made(TRIAL, tmp_path_factory.mktemp("order")))
    return found


@pytest.fixture(scope="module")
def run(text: str) -> list[Step]:
    return steps(text, TRIAL.origin())


def _marks(run: list[Step]) -> list[tuple[str, str]]:
    marks = [(s.mark.kind, s.mark.part) for s in run if s.mark]
    return [mark for mark, _ in itertools.groupby(marks)]


def test_kinds_come_in_the_trades_order(run: list[Step]) -> None:
    tiers = ["HOLD-DOWN", "POCKET", "HOLE", "OPENING", "PROFILE"]
    kinds = [kind for kind, part in _marks(run) if part != "INNER"]
    assert [tiers.index(kind) for kind in kinds] == sorted(tiers.index(kind) for kind in kinds)
    assert set(kinds) == set(tiers)


def test_a_piece_inside_an_opening_is_whole_before_the_opening_is_cut(run: list[Step]) -> None:
    marks = _marks(run)
    assert (
        marks.index(("PROFILE", "INNER"))
        < marks.index(("OPENING", "LARGE"))
        < marks.index(("PROFILE", "LARGE"))
    )


def test_a_small_piece_goes_before_a_large_one_beside_it(run: list[Step]) -> None:
    marks = _marks(run)
    assert marks.index(("PROFILE", "NEAR")) < marks.index(("PROFILE", "LARGE"))


def test_nothing_is_cut_in_a_piece_after_its_outline(run: list[Step]) -> None:
    board, bites = carved(TRIAL, run, 0.7)
    for piece in PIECES:
        wood = piece.outline.polygon().buffer(-0.3)
        last = max(
            s.line for s in run if s.mark and (s.mark.kind, s.mark.part) == ("PROFILE", piece.name.upper())
        )
        later = [b for b in bites if b.step.line > last]
        spots = np.unique(np.concatenate([b.points for b in later])) if later else np.array([], int)
        assert not any(wood.contains(Point(p)) for p in board.points[spots])


def test_the_cutter_changes_no_oftener_than_the_order_asks(run: list[Step]) -> None:
    others = [s for s in run if s.mark and s.mark.part != "INNER"]
    done, least = changes(others)
    assert done <= least


def test_screws_are_drilled_first_fitted_at_a_stop_and_kept_clear_of(text: str, run: list[Step]) -> None:
    heads = {
        tuple(np.round(s.end[:2], 3)) for s in run if s.mark and s.mark.kind == "HOLD-DOWN" and s.end[2] < 0
    }
    assert len(heads) >= 4
    rows = text.splitlines()
    last = max(s.line for s in run if s.mark and s.mark.kind == "HOLD-DOWN" and s.word)
    first = min(s.line for s in run if s.mark and s.mark.kind != "HOLD-DOWN" and s.mark and s.word)
    between = [row for row in rows[last:first] if not row.startswith("(")]
    assert "M0" in between
    assert between.index("M5") < between.index("M0")
    assert any("screw" in row.lower() for row in rows[last:first])
    for step in run:
        if step.line <= first - 8 or step.points[:, 2].min() > 4.0 + 1e-6:
            continue
        radius = TRIAL.row(step.tool)["diameter"] / 2
        for x, y in heads:  # heads are 8 wide and 4 high; cutters keep 5 off (common practice, no source)
            away = np.hypot(step.points[:, 0] - x, step.points[:, 1] - y).min()
            assert away - radius >= 4 + 5 - 0.01


def test_every_move_keeps_off_a_clamp(tmp_path: pathlib.Path) -> None:
    more = '[[keep_out]]\nkind = "clamp"\nbox = [0, 90, 22, 130]\nheight = 20\n'
    trial = Trial(
        [Piece("board", box(50, 40, 200, 180), (60, 50))],
        (230, 220),
        9.0,
        [CUTTERS[0]],
        {"safe_height": 22},
        {},
        more,
    )
    (text,) = texts(made(trial, tmp_path))
    for step in steps(text):
        for a, b in itertools.pairwise(step.points):
            for share in np.linspace(0, 1, max(2, math.ceil(math.dist(a, b)))):
                x, y, z = a + (b - a) * share
                away = math.hypot(max(x - 22, 0), max(90 - y, y - 130, 0))
                assert away >= 3 + 5 - 0.01 or z >= 22 - 1e-6 or step.line < 25
