"""The table of `inspect`: parts in rows, likely slots, findings numbered as in the picture."""

from __future__ import annotations

import tomllib

import pytest
from support.bench_by_hand import PARTS

from camkit.drawing.drawn import Drawn
from camkit.errors import Finding
from camkit.geometry.path import Line, Path, rectangle
from camkit.part import Countersink, Hole, LayerRule, Part, Pocket
from camkit.report.inspection_rows import numbered_findings, numbers_text, part_rows
from camkit.report.inspection_table import inspection_lines, layer_lines


def plate(number: int, wide: float = 50, **more: object) -> Part:
    x = 100.0 * number
    return Part(f"part {number}", rectangle(x, 0, x + wide, 20), **more)


def lines(*parts: Part, findings: tuple[Finding, ...] = (), left: tuple[Path, ...] = ()) -> list[str]:
    return inspection_lines([Drawn("bench.dxf", "mm", "header", parts, None, findings, left=left)])


def test_parts_are_listed_with_what_is_in_them() -> None:
    said = lines(*PARTS.values())
    assert said[0] == f"bench.dxf: {len(PARTS)} parts, drawn in mm, as the file says"
    assert any("shelf" in line and "1150 x 380" in line and "4 of 5" in line for line in said)
    assert any("shelf" in line and "2 of 6 deep" in line for line in said)


def test_unnamed_parts_of_one_size_share_a_row_and_named_ones_do_not() -> None:
    named = [Part(name, rectangle(0, 50, 50, 70)) for name in ("left", "right")]
    rows = part_rows([plate(1), plate(2), plate(3, 60), plate(4), *named])
    assert [(row.numbers, row.title) for row in rows] == [
        ((1, 2, 4), "3 parts of one size"),
        ((3,), "part 3"),
        ((5,), "left"),
        ((6,), "right"),
    ]


def test_parts_that_differ_in_a_hole_or_a_depth_do_not_share_a_row() -> None:
    holes = [(Hole((0, 0), 5.0),), (Hole((0, 0), 5.0, 8.0),), (Hole((0, 0), 6.0),)]
    pockets = [(Pocket(rectangle(0, 0, 5, 5), depth),) for depth in (3.0, 4.0)]
    parts = [plate(k + 1, holes=h) for k, h in enumerate(holes)]
    parts += [plate(k + 4, pockets=p) for k, p in enumerate(pockets)]
    parts.append(plate(6, holes=(Hole((0, 0), 5.0, None, Countersink(9.0)),)))
    assert len(part_rows(parts)) == 6


@pytest.mark.parametrize(
    ("numbers", "text"),
    [
        ((1,), "1"),
        ((1, 2), "1, 2"),
        ((1, 2, 3), "1-3"),
        ((4, 7, 8, 9, 11), "4, 7-9, 11"),
        (tuple(range(1, 100, 2)), "1, 3, 5, 7, 9, 11, 13, 15, 17, 19, 21, 23, 25 +37"),
    ],
)
def test_numbers_are_joined_to_stretches(numbers: tuple[int, ...], text: str) -> None:
    assert numbers_text(numbers) == text


def test_no_line_of_a_full_table_is_wider_than_a_terminal() -> None:
    holes = tuple(Hole((10.0 * k, 5), 3.0 + k / 10, 4.0 if k % 3 == 0 else None) for k in range(30))
    pockets = tuple(Pocket(rectangle(k, 0, k + 1, 1), 1 + k / 4) for k in range(9))
    wide = Part(
        "the long lower shelf of the bench, left hand side",
        rectangle(0, 0, 2438.75, 1219.25),
        (),
        holes,
        pockets,
    )
    said = lines(wide, *(plate(k) for k in range(2, 200, 3)), findings=(Finding("note", "r", "word " * 60),))
    assert max(map(len, said)) <= 100
    text = "\n".join(said)
    assert all(f"{wide_.diameter:g}" in text for wide_ in holes)
    assert "2438.75 x 1219.25" in text


def test_likely_slots_are_said_with_the_numbers_of_their_parts() -> None:
    slots = tuple(rectangle(x, 20, x + 18.2, 80) for x in (50, 150))
    side = Part("side", rectangle(0, 0, 400, 100), openings=slots)
    said = lines(plate(1), side)
    assert "likely slots for a sheet: 18.2 wide, 2 times (part 2)" in said


def test_findings_stand_worst_first_with_the_picture_s_numbers() -> None:
    found = (
        Finding("note", "a", "first", file="in/bench.dxf"),
        Finding("error", "b", "second", "Mend it", None, 12.5, 7.0, file="bench.dxf", entity="LINE 4"),
        Finding("warning", "c", "third at (1.00, 2.00)", x_mm=1.0, y_mm=2.0, file="bench.dxf"),
    )
    drawn = Drawn("in/bench.dxf", "mm", "header", (plate(1),), None, found)
    assert [row.finding.rule for row in numbered_findings(drawn)] == ["b", "c", "a"]
    assert inspection_lines([drawn])[-3:] == [
        "1  error: LINE 4: second. Mend it. [at 12.5, 7]",
        "2  warning: third at (1.00, 2.00).",
        "3  note: first.",
    ]


def test_of_many_findings_of_one_kind_the_rest_is_counted() -> None:
    found = tuple(Finding("warning", "gap-closed", f"gap {k}", "Look", x_mm=k, y_mm=0.0) for k in range(20))
    said = lines(plate(1), findings=found)
    assert sum("gap " in line for line in said) == 8
    assert said[-1] == "    warning: gap-closed: 12 more of this kind: 9-20"


def test_numbers_rise_down_the_list_whatever_the_kinds() -> None:
    kinds = ("a", "b", "a", "c", "b")
    found = tuple(Finding("note", rule, f"m {k}") for k, rule in enumerate(kinds))
    assert [line.split()[0] for line in lines(plate(1), findings=found)[-5:]] == ["1", "2", "3", "4", "5"]


def test_lines_that_are_not_cut_are_counted() -> None:
    stroke, speck = Path((Line((0, 0), (30, 0)),)), Path((Line((0, 0), (0.01, 0)),))
    said = lines(plate(1), left=(stroke, speck))
    assert "lines and loops that are not cut, dashed in the picture: 1" in said


def test_with_a_job_the_extent_stands_beside_its_sheet() -> None:
    drawn = Drawn("bench.dxf", "mm", "header", (plate(1), plate(4, 60)))
    said = inspection_lines([drawn], [(2440.0, 1220.0)])
    assert said[-1] == "the parts cover 360 x 20, the job's sheet is 2440 x 1220"


def test_layers_are_said_as_a_job_takes_them() -> None:
    rules = (
        LayerRule("outline", "profile"),
        LayerRule("pocket 6.35", "pocket", 6.35),
        LayerRule("hole 10 deep", "hole", 10.0),
        LayerRule("sheet edge", "sheet edge"),
    )
    assert tomllib.loads("\n".join(layer_lines(rules))) == {
        "layers": {
            "outline": "profile",
            "pocket 6.35": {"pocket": 6.35},
            "hole 10 deep": {"hole": 10},
            "sheet edge": "sheet edge",
        }
    }
