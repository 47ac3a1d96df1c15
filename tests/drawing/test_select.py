"""A job's rows find their parts among those drawn, or are told why not."""

from dataclasses import dataclass

import pytest

from camkit.drawing.drawn import Drawn
from camkit.drawing.select import select
from camkit.errors import InputError
from camkit.geometry.path import Point, rectangle
from camkit.job.model import PartRow
from camkit.part import Part, Source


@dataclass(frozen=True)
class Wanted:
    """A row of a job, with only what a test needs."""

    name: str
    drawing: str | None = None
    at: Point | None = None
    layer: str | None = None


def part(name: str, x: float, y: float, length: float = 100, width: float = 50, layer: str = "CUT") -> Part:
    outline = rectangle(x, y, x + length, y + width)
    return Part(name, outline, source=Source("side.dxf", layer, "LWPOLYLINE 1"))


SIDE = Drawn(
    "plans/side.dxf",
    "mm",
    "header",
    (part("part 1", 0, 0, layer="Outer skin"), part("part 2", 200, 0), part("Shelf", 400, 0)),
)
TOP = Drawn("plans/top.dxf", "mm", "header", (part("part 1", 0, 0),))


def chosen(*rows: Wanted) -> list[tuple[int, str, float]]:
    return [(number, found.name, found.outline.start[0]) for number, found in select([SIDE, TOP], rows).parts]


def test_without_rows_every_part_is_taken_under_a_name_of_its_own() -> None:
    selection = select([SIDE, TOP], ())
    assert [(n, p.name) for n, p in selection.parts] == [
        (0, "side part 1"),
        (0, "part 2"),
        (0, "Shelf"),
        (1, "top part 1"),
    ]
    assert selection.findings == ()


def test_rows_pick_by_point_layer_name_and_drawing() -> None:
    assert chosen(
        Wanted("end", "side.dxf", at=(250, 20)),
        Wanted("skin", layer="outer*"),
        Wanted("shelf"),
        Wanted("top", "plans/top.dxf"),
        Wanted("edge", "side.dxf", at=(0, 0)),
    ) == [(0, "end", 200), (0, "skin", 0), (0, "shelf", 400), (1, "top", 0), (0, "edge", 0)]


def test_rows_of_a_job_file_fit() -> None:
    row = PartRow(name="end", drawing="side.dxf", at=(250, 20))
    assert select([SIDE], [row]).parts[0][1].name == "end"


def test_a_part_in_an_opening_is_meant_before_the_one_around_it() -> None:
    ring = part("ring", 0, 0, 500, 300)
    drawn = Drawn("a.dxf", "mm", "header", (ring, part("inner", 100, 100)))
    assert select([drawn], [Wanted("x", at=(150, 120))]).parts[0][1].outline.start == (100, 100)


def test_parts_not_named_are_listed() -> None:
    selection = select([SIDE, TOP], [Wanted("end", "side.dxf", at=(250, 20))])
    assert [(f.level, f.rule, f.file) for f in selection.findings] == [
        ("note", "parts-not-named", "plans/side.dxf"),
        ("note", "parts-not-named", "plans/top.dxf"),
    ]
    assert "part 1, Shelf" in selection.findings[0].message


@pytest.mark.parametrize(
    ("row", "message"),
    [
        (
            Wanted("end", "side.dxf", at=(130, 20)),
            r"no part lies at \(130, 20\); the nearest is part 1 .* 30.0 mm away",
        ),
        (Wanted("end", "side.dxf"), "3 parts fit: part 1 .*part 2 .*Shelf"),
        (Wanted("end", "other.dxf"), 'no drawing is named "other.dxf"; there are side.dxf, top.dxf'),
        (
            Wanted("end", layer="inner*"),
            'no outline lies on a layer like "inner\\*"; outlines lie on CUT, Outer',
        ),
        (Wanted("end", at=(50, 20)), "2 parts fit"),
    ],
)
def test_rows_that_fit_none_or_several_are_refused(row: Wanted, message: str) -> None:
    with pytest.raises(InputError, match=message) as caught:
        select([SIDE, TOP], [row])
    assert caught.value.findings[0].part == "end"


def test_all_rows_at_fault_are_told_at_once() -> None:
    with pytest.raises(InputError) as caught:
        select([SIDE], [Wanted("a", at=(900, 0)), Wanted("b", at=(250, 20)), Wanted("c", layer="no")])
    assert [finding.part for finding in caught.value.findings] == ["a", "c"]


def test_a_drawing_without_parts_is_said() -> None:
    with pytest.raises(InputError, match="its drawing shows no part"):
        select([Drawn("a.dxf", "mm", "header", ())], [Wanted("a")])
