"""Pieces whose joints hold each other in place, from the drawing to what the written program leaves.

Drawn for 18.0, cut from 17.6. Solids are placed by their shoulders; sections are replayed from the program's
text.
"""

from __future__ import annotations

import pathlib
from collections.abc import Callable
from dataclasses import replace

import pytest
from support.closed_loop import (
    CLEARANCE,
    FITTED,
    MIXED,
    SHELF,
    THICKER,
    bench,
    best_overlap,
    cut_bench,
    gap_up,
    heights_agree,
    seat_about_the_middle,
    shoulders,
    standing,
)
from support.joint_trials import tried
from support.plates import Cleared, Plate, Refused, Stock
from support.random_joints import Joint, Kind, joint

CHORDS = 0.002


Benches = Callable[[int], Cleared]


@pytest.fixture(scope="module")
def benches(tmp_path_factory: pytest.TempPathFactory) -> Benches:
    """The bench with so many uprights, cut once."""
    made: dict[int, Cleared] = {}

    def one(uprights: int) -> Cleared:
        if uprights not in made:
            came = cut_bench(tmp_path_factory.mktemp(f"bench-{uprights}"), bench(uprights))
            assert not isinstance(came, Refused), [str(f) for f in came.findings]
            made[uprights] = came
        return made[uprights]

    return one


@pytest.mark.parametrize("uprights", [2, 4, 6])
def test_a_seat_goes_over_uprights_with_shelves_shouldered_between_them(
    uprights: int, benches: Benches
) -> None:
    cleared = benches(uprights)
    paths = 0.01 * (uprights - 1)  # every shelf comes out up to 0.005 wider on either side
    places = standing(cleared, uprights)
    overlap, play = best_overlap(cleared.through("seat"), places, uprights)
    jammed, _ = best_overlap(seat_about_the_middle(uprights), places, uprights)
    # About the middle every bay is out by 0.4 of the 0.15 allowed: by hand (0.4 (n - 1) - 0.15) / 2 a side.
    assert jammed == pytest.approx((0.4 * (uprights - 1) - CLEARANCE) / 2, abs=0.01 + paths)
    assert overlap <= CHORDS
    assert play == pytest.approx(CLEARANCE, abs=0.02 + paths)


@pytest.mark.parametrize("uprights", [2, 4])
def test_shoulder_distances_stay(uprights: int, benches: Benches) -> None:
    cleared = benches(uprights)
    for bay in range(1, uprights):
        assert shoulders(cleared.through(f"shelf {bay}")) == pytest.approx(SHELF, abs=0.02)


@pytest.mark.parametrize("uprights", [2, 4])
def test_all_tenons_end_flush(uprights: int, benches: Benches) -> None:
    cleared = benches(uprights)
    for bay in range(1, uprights):
        shelf = cleared.through(f"shelf {bay}")
        assert shelf.bounds[2] - shelf.bounds[0] == pytest.approx(SHELF + 2 * FITTED, abs=0.04)
    for number in range(1, uprights + 1):
        upright = cleared.through(f"end {number}")
        assert upright.bounds[3] == pytest.approx(FITTED, abs=0.02)


@pytest.mark.parametrize("uprights", [2, 4])
def test_every_shelf_lies_level_in_both_of_its_mortises(uprights: int, benches: Benches) -> None:
    cleared = benches(uprights)
    low, high = gap_up(cleared.through("end 1"), -130.0)
    assert high - low == pytest.approx(FITTED + CLEARANCE, abs=0.02)
    assert heights_agree(cleared, uprights) == pytest.approx(FITTED + CLEARANCE, abs=0.03)


def test_a_rail_shouldered_over_six_uprights_is_refused_and_asks_which_part_may_change_length(
    tmp_path: pathlib.Path,
) -> None:
    """Shelves hold the outermost uprights 4 x 0.4 = 1.6 nearer than the rail does: no cut can mend that."""
    came = cut_bench(tmp_path, bench(6, rail=True))
    assert isinstance(came, Refused)
    told = [str(f) for f in came.findings if "rail" in str(f)]
    assert told and any("length" in text and "shelf" in text for text in told)
    assert any("1.6" in text for text in told)


def test_the_same_rail_over_two_uprights_closes(tmp_path: pathlib.Path) -> None:
    """Rail and shelf both say how far apart two ends stand, and say the same."""
    cleared = cut_bench(tmp_path, bench(2, rail=True))
    assert not isinstance(cleared, Refused), [str(f) for f in cleared.findings]


def test_a_bench_of_three_thicknesses_goes_together(tmp_path: pathlib.Path) -> None:
    """Seat 24.0 on 23.5, ends 18.0 on 17.6, shelves 12.0 on 12.3: every joint takes its mate's sheet."""
    cleared = cut_bench(tmp_path, bench(4, mixed=True))
    assert not isinstance(cleared, Refused), [str(f) for f in cleared.findings]
    seat, ends, shelves = (sheet.measured for sheet in MIXED)
    assert [cleared.thickness(name) for name in ("seat", "end 2", "shelf 3")] == [seat, ends, shelves]
    low, high = gap_up(cleared.through("end 1"), -130.0)
    assert high - low == pytest.approx(shelves + CLEARANCE, abs=0.02)
    overlap, play = best_overlap(cleared.through("seat"), standing(cleared, 4), 4)
    assert overlap <= CHORDS and play == pytest.approx(CLEARANCE, abs=0.05)
    for number in range(1, 5):
        assert cleared.through(f"end {number}").bounds[3] == pytest.approx(seat, abs=0.02)
    shelf = cleared.through("shelf 2").bounds
    assert shelf[2] - shelf[0] == pytest.approx(SHELF + 2 * ends, abs=0.04)


def of_two_sheets(uprights: int) -> list[Plate]:
    """The bench with every other upright of 18.3, the rest of 17.6."""
    thicker = {f"end {i}" for i in range(2, uprights + 1, 2)}
    return [replace(p, stock=THICKER.name if p.name in thicker else "sheet") for p in bench(uprights)]


def test_a_shelf_between_ends_of_two_sheets_ends_flush_in_both(tmp_path: pathlib.Path) -> None:
    """17.6 at one end, 18.3 at the other; the seat's mortises stand 317.95 apart, not 318."""
    cleared = cut_bench(tmp_path, of_two_sheets(2))
    assert not isinstance(cleared, Refused), [str(f) for f in cleared.findings]
    thick = [cleared.thickness("end 1"), cleared.thickness("end 2")]
    assert thick == [FITTED, THICKER.measured]
    overlap, play = best_overlap(cleared.through("seat"), standing(cleared, 2), 2, thick)
    assert overlap <= CHORDS and play == pytest.approx(CLEARANCE, abs=0.03)
    x0, _, x1, _ = cleared.through("shelf 1").bounds
    assert x1 - x0 == pytest.approx(SHELF + sum(thick), abs=0.04)


def test_like_uprights_of_two_sheets_under_one_seat_go_together_or_are_asked_about(
    tmp_path: pathlib.Path,
) -> None:
    """Which upright stands in which of four like mortises no drawing says, but 17.75 is not 18.45."""
    came = cut_bench(tmp_path, of_two_sheets(4))
    if isinstance(came, Refused):
        assert came.names("seat") and came.names("end 1", "end 2")
        return
    thick = [came.thickness(f"end {i}") for i in range(1, 5)]
    overlap, _ = best_overlap(came.through("seat"), standing(came, 4), 4, thick)
    assert overlap <= CHORDS


def plain(kind: Kind) -> Joint:
    """A joint of 18.0 on 17.6 with a cutter of 6, 80 wide."""
    stock = Stock("sheet", 18.0, 17.6)
    some = replace(joint(1, kind), panel=stock, mate=stock, clearance=0.15, play=0.0, cutter=6.0)
    return replace(some, width=80.0, depth=9.0, turn_deg=0.0, turns=(0.0, 0.0), shoulders=2, relief=None)


@pytest.mark.parametrize(
    "kind",
    [
        "flush tenon",
        "proud tenon",
        "stub tenon",
    ],
)
def test_tenons_end_where_they_were_meant_to(kind: Kind, tmp_path: pathlib.Path) -> None:
    """Flush in the thinner sheet, as proud as drawn, or 1 short of the pocket's floor; within 0.02."""
    came = tried(plain(kind), tmp_path)
    assert came.state in ("entered", "failed")
    assert not [reason for reason in came.reasons if "length is" in reason], came.reasons
