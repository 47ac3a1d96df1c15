"""Places where there is little room: small round openings and holes, narrow arms, pieces close together."""

from __future__ import annotations

import math
import pathlib
from typing import Any

import pytest
from support.signed import sign
from support.trials import Bore, Piece, Recess, Shape, Trial, box, disc, made, rounded, texts

MILL: dict[str, Any] = {"number": 1, "kind": "upcut spiral", "diameter": 4.0}
_ARMS = Shape(
    tuple(
        (float(x), float(y), 0.0)
        for x, y in [(40, 30), (63, 30), (63, 35.4), (45, 35.4), (45, 42.5), (40, 42.5)]
    )
)
TIGHT: dict[str, Piece] = {
    "round opening": Piece("plate", box(20, 20, 90, 70), (24, 24), (disc(55, 45, 9.162),)),
    "small round opening": Piece("plate", box(20, 20, 90, 70), (24, 24), (disc(55, 45, 5.782),)),
    "round corners": Piece("plate", box(20, 20, 90, 70), (24, 24), (rounded(35, 32, 75, 60, 8),)),
    "narrow arms": Piece("plate", box(20, 15, 90, 70), (24, 20), (_ARMS,)),
    "bored hole": Piece("plate", box(20, 20, 90, 70), (24, 24), (), (), (Bore(55, 45, 14.0),)),
    "small pocket": Piece(
        "plate", box(20, 20, 90, 70), (24, 24), (), (Recess(rounded(40, 35, 52, 48, 3), 3.5),)
    ),
}


@pytest.mark.parametrize("name", TIGHT)
def test_a_finish_pass_comes_and_goes_within_what_it_may_cut(tmp_path: pathlib.Path, name: str) -> None:
    row = {**MILL, "diameter": 3.175 if name == "narrow arms" else 4.0, "finish_pass": 0.3}
    trial = Trial([TIGHT[name]], (110, 90), 8.8, [row])
    assert sign(trial, texts(made(trial, tmp_path)), 0.5).complaints == {}


@pytest.mark.parametrize(("gap", "across"), [(10.0, 6.0), (11.0, 0.0)])
def test_a_piece_keeps_three_whole_tabs_beside_those_of_a_near_neighbour(
    tmp_path: pathlib.Path, gap: float, across: float
) -> None:
    # The wheel's given tabs face the board, whose cut comes near enough to take them away.
    middle, turn = (82 + gap + 50, 70.0), math.pi + across / 50
    at = [
        (round(middle[0] + 50 * math.cos(turn + k * 2.1), 3), round(70 + 50 * math.sin(turn + k * 2.1), 3))
        for k in (0, 1, -1)
    ]
    pieces = (
        Piece("board", box(11, 11, 82, 122), (20, 20)),
        Piece("wheel", disc(*middle, 50), middle, tabs=tuple(at)),
    )
    trial = Trial(
        pieces, (210, 140), 9.0, [MILL], {"direction": "conventional"}, {"width": 6.6, "shape": "square"}
    )
    signed = sign(trial, texts(made(trial, tmp_path)), 0.8)
    assert not signed.complaints.keys() & {"tabs", "loose", "gouges", "order"}
    assert min(len(tabs) for tabs in signed.tabs.values()) >= 3
    # The wheel's tab at the board stands as high on the board's side: nothing cuts it away.
    facing = min(signed.tabs["wheel"], key=lambda tab: tab.x)
    assert (facing.width, facing.height) == (pytest.approx(6.6, abs=0.25), pytest.approx(3.0, abs=0.01))
