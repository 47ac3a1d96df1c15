"""The same wood whatever the control takes: programs in other words are replayed and held side by side."""

from __future__ import annotations

import pathlib
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.steps import Step, steps
from support.trials import Bore, Piece, Recess, Trial, box, made, rounded, texts

from camkit.program.wish import Wish

SINK = 8.6  # DIN 74-1:1980 form A: rim of the countersink of a 4.0 wood screw, whose hole is 4.5
PIECES = (
    Piece(
        "board",
        rounded(30, 30, 190, 130, 12),
        (40, 80),
        openings=(box(60, 55, 100, 85),),
        pockets=(Recess(box(120, 50, 160, 80), 4.0),),
        holes=(Bore(175, 115, 4.5, sink=SINK), Bore(60, 110, 10), Bore(90, 112, 4.5, depth=7.0)),
    ),
    Piece("peg", box(215, 40, 275, 110), (220, 45), holes=(Bore(245, 75, 4.5),)),
)
CUTTERS: tuple[dict[str, Any], ...] = (
    {"number": 1, "kind": "upcut spiral", "diameter": 6.0, "pass_depth": 5.0},
    {"number": 2, "kind": "drill", "diameter": 4.5, "pass_depth": 4.0},
    {"number": 3, "kind": "v-groove", "diameter": 12.0},
)
PLAIN = Trial(PIECES, (310, 160), 11.8, CUTTERS)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> pathlib.Path:
    return tmp_path_factory.mktemp("words")


@pytest.fixture(scope="module")
def plain(folder: pathlib.Path) -> list[Step]:
    (text,) = texts(made(PLAIN, folder / "plain"))
    return steps(text)


def _run(folder: pathlib.Path, wish: Wish | None = None, **machine: Any) -> list[Step]:
    trial = replace(PLAIN, machine=machine)
    found = texts(made(trial, folder / "other") if wish is None else made(trial, folder / "other", wish))
    return [step for text in found for step in steps(text, trial.origin())]


def _apart(one: list[Step], other: list[Step]) -> float:
    """How far two runs of the same moves lie apart at most; both ends of every move are looked at."""
    assert [(s.word, s.tool, s.mark) for s in one] == [(s.word, s.tool, s.mark) for s in other]
    return max(
        float(np.abs(a.points[[0, -1]] - b.points[[0, -1]]).max()) for a, b in zip(one, other, strict=True)
    )


def test_inches_make_the_same_moves_within_three_tenths_of_a_micrometre(
    folder: pathlib.Path, plain: list[Step]
) -> None:
    # 5 decimals of an inch are 0.254 um apart, 4 of a millimetre 0.1: both rounded, at most 0.18 off.
    assert _apart(plain, _run(folder, program_unit="inch")) <= 0.0003
    assert [s.feed for s in plain] == pytest.approx(
        [s.feed for s in _run(folder, program_unit="inch")], rel=1e-3
    )


@pytest.mark.parametrize("corner", ["upper right", "centre"])
def test_every_zero_makes_the_same_moves_on_the_sheet(
    folder: pathlib.Path, plain: list[Step], corner: str
) -> None:
    assert _apart(plain, _run(folder, xy_zero=corner, zero="table")) <= 0.0002


def test_chords_stay_within_four_micrometres_of_the_arcs(folder: pathlib.Path, plain: list[Step]) -> None:
    lines = _run(folder, arcs="lines")
    assert all(step.word < 2 for step in lines)
    k = 0
    for step in (s for s in plain if s.word > 1):
        while not np.allclose(lines[k].start, step.start, atol=2e-4):
            k += 1
        middle = np.array(_centre(step))
        while True:
            a, b = lines[k].points[[0, -1], :2] - middle
            nearest = a + (b - a) * np.clip(-a @ (b - a) / max(1e-12, (b - a) @ (b - a)), 0, 1)
            radii = np.hypot(*np.array([a, b, nearest]).T)
            assert np.abs(radii - step.radius).max() <= 0.0042
            k += 1
            if np.allclose(lines[k - 1].end, step.end, atol=2e-4):
                break


def _centre(step: Step) -> tuple[float, float]:
    """Of the circle through three points of an arc."""
    (ax, ay), (bx, by), (cx, cy) = step.points[[0, len(step.points) // 3, 2 * len(step.points) // 3], :2]
    d = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    a2, b2, c2 = ax**2 + ay**2, bx**2 + by**2, cx**2 + cy**2
    return (
        (a2 * (by - cy) + b2 * (cy - ay) + c2 * (ay - by)) / d,
        (a2 * (cx - bx) + b2 * (ax - cx) + c2 * (bx - ax)) / d,
    )


def test_words_left_out_change_no_move(folder: pathlib.Path, plain: list[Step]) -> None:
    omitted = ["T", "M6", "G17", "G40", "G49", "G54", "G61", "G80", "G94"]
    trial = replace(
        PLAIN, machine={"omit": omitted, "speed_by_hand": True, "start_dwell": 2, "with_spindle": ["M8"]}
    )
    (text,) = texts(made(trial, folder / "omit"))
    bare = "\n".join(row.split("(")[0] for row in text.splitlines())
    assert not any(word in bare.split() for word in [*omitted, "T1", "T2", "T3"])
    assert "S" not in bare
    words = [word for word in bare.split() if word in ("M3", "M8", "M9", "M5")]
    assert words == ["M9", "M5", *["M3", "M8", "M9", "M5"] * words.count("M3")]
    assert _apart(plain, steps(text)) <= 1e-9


def test_programs_for_each_cutter_together_are_the_one_program(
    folder: pathlib.Path, plain: list[Step]
) -> None:
    apart = _run(folder, cutter_change="separate programs")
    together = [s for s in plain if s.word]
    assert _apart(together, [s for s in apart if s.word]) <= 1e-9


def test_the_rest_from_a_cut_and_what_came_before_are_the_whole(
    folder: pathlib.Path, plain: list[Step]
) -> None:
    numbers = sorted({s.mark.number for s in plain if s.mark})
    for first in (2, numbers[-1]):
        rest = [s for s in _run(folder, Wish(first=first)) if s.word]
        assert {s.mark.number for s in rest if s.mark} == {n for n in numbers if n >= first}
        assert _apart([s for s in plain if s.word and s.mark and s.mark.number >= first], rest) <= 1e-9


def test_one_piece_alone_is_cut_as_in_the_whole(folder: pathlib.Path, plain: list[Step]) -> None:
    alone = [s for s in _run(folder, Wish(piece="board:1")) if s.word]
    assert _apart([s for s in plain if s.word and s.mark and s.mark.part == "BOARD"], alone) <= 1e-9


def test_in_the_air_nothing_comes_near_the_sheet(folder: pathlib.Path, plain: list[Step]) -> None:
    air = _run(folder, Wish(higher=30.0))
    assert min(s.points[:, 2].min() for s in air) >= 30 - 11.8 - 0.3 - 1e-4
    assert _apart([s for s in plain if s.word], [_lowered(s, 30.0) for s in air if s.word]) <= 2e-4


def _lowered(step: Step, by: float) -> Step:
    return replace(step, points=step.points - np.array([0, 0, by]))


def test_a_drilling_cycle_takes_the_same_wood_as_pecks_written_out(
    folder: pathlib.Path, plain: list[Step]
) -> None:
    cycles = _run(folder, drilling_cycles=True)
    for run in (plain, cycles):
        deepest: dict[tuple[float, ...], list[float]] = {}
        for step in run:
            if step.tool == 2 and step.word:
                at = tuple(np.round(step.end[:2], 3))
                deepest.setdefault(at, []).append(float(step.end[2]))
                assert step.run < 1e-9
        assert {at: min(z) for at, z in deepest.items()} == pytest.approx(
            {(175, 115): -12.1, (90, 112): -7.0, (245, 75): -12.1}
        )
        for depths in deepest.values():
            lows = sorted({z for z in depths if z < -1e-9}, reverse=True)
            assert all(a - b <= 4.0 + 1e-6 for a, b in zip([2.0, *lows], lows, strict=False) if b < -4)
