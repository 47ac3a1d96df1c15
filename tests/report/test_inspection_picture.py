"""The picture of a drawing: every part and every finding has its number, and nothing hides another."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
from support.bench_by_hand import PLACED

from camkit.drawing.drawn import Drawn
from camkit.errors import Finding
from camkit.geometry.path import Line, Path, circle, oriented, rectangle
from camkit.part import Hole, Part
from camkit.report.boxes import Box, Taken
from camkit.report.picture import inspection_svg

SVG = "{http://www.w3.org/2000/svg}"
TIMES = "\N{MULTIPLICATION SIGN}"
PLATE = Part("part 1", rectangle(0, 0, 200, 100))


def picture(*parts: Part, findings: tuple[Finding, ...] = (), left: tuple[Path, ...] = ()) -> ET.Element:
    return ET.fromstring(
        inspection_svg(Drawn("a/bench.dxf", "cm", "guessed", parts, None, findings, left=left))
    )


def words(root: ET.Element) -> list[str]:
    return ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]


def marks(root: ET.Element) -> list[Box]:
    return [
        Box(float(r.attrib["x"]) + w / 2, float(r.attrib["y"]) + h / 2, w, h)
        for r in root.iter(f"{SVG}rect")
        if "rx" in r.attrib
        for w, h in [(float(r.attrib["width"]), float(r.attrib["height"]))]
    ]


def at(number: int, x: float, y: float) -> Finding:
    return Finding("warning", "gap", f"gap {number}", x_mm=x, y_mm=y)


def dashed(root: ET.Element) -> list[ET.Element]:
    return [
        p for p in root.iter(f"{SVG}path") if p.attrib.get("stroke") == "#8a3b8f" and "M" in p.attrib["d"]
    ]


def test_parts_are_numbered_and_their_features_listed() -> None:
    notes = (Finding("note", "closed-gap", "closed a gap", x_mm=10.0, y_mm=10.0, entity="LINE 4"),)
    said = words(picture(*(p.shape for p in PLACED), findings=notes))
    assert "bench.dxf" in said and "drawn in cm, guessed, the file does not say" in said
    assert "7 parts, 1 note" in said
    number = next(k for k, p in enumerate(PLACED, start=1) if p.part.name == "shelf")
    assert f"{number}: shelf, 1150 {TIMES} 380; 4 holes \N{DIAMETER SIGN}5; 2 pockets 6 deep" in said
    assert any("closed a gap" in text for text in said)


def test_nothing_read_is_still_a_picture() -> None:
    assert "0 parts, nothing to report" in words(picture())


def test_a_small_drawing_is_drawn_larger_than_life() -> None:
    assert "5 : 1" in words(picture(Part("tag", rectangle(0, 0, 40, 20))))


def test_holes_of_one_size_are_counted_together_and_long_lines_wrapped() -> None:
    """Circles read from splines differ in the sixth decimal and are still holes of one size."""
    holes = tuple(Hole((10.0 + 8 * k, 20.0), 5.0 + k * 1e-6) for k in range(9))
    odd = tuple(Hole((10.0 + 4 * k, 40.0), 3.0 + k / 10) for k in range(20))
    part = Part("grid", rectangle(0, 0, 100, 60), holes=holes + odd)
    found = (Finding("note", "r", "m", file="/home/somebody/grid.dxf"),)
    said = words(picture(part, findings=found))
    lines = [text for text in said if "hole" in text]
    assert len(lines) > 1 and max(map(len, lines)) < 160
    assert "9 holes \N{DIAMETER SIGN}5" in " ".join(said)
    assert "note, r: grid.dxf: m." in said


def test_parts_too_small_for_their_number_have_it_beside_them() -> None:
    """A column of wedges 50 x 10 on a page of 1 : 10: no number lies on any wood, none on another."""
    wedges = [Part(f"part {k + 2}", rectangle(2250, 25 * k, 2300, 25 * k + 10)) for k in range(12)]
    root = picture(Part("part 1", rectangle(0, 0, 2200, 1200)), *wedges)
    boxes = {}
    for text in root.iter(f"{SVG}text"):
        if (text.text or "").isdigit() and text.attrib["font-size"] == "22":
            size, x, y = (float(text.attrib[key]) for key in ("font-size", "x", "y"))
            boxes[text.text] = Box(x, y - 0.36 * size, 0.6 * size * len(text.text or ""), 0.75 * size)
    assert set(boxes) == {str(k) for k in range(2, 14)}
    wood = [Box(140 + 2275, 170 + 1200 - (25 * k + 5), 50, 10) for k in range(12)]
    assert not any(box.meets(area) for box in boxes.values() for area in wood)
    assert not any(a.meets(b) for k, a in boxes.items() for m, b in boxes.items() if k != m)


@pytest.mark.parametrize(
    "part",
    [
        Part("part 1", rectangle(0, 0, 100, 50), (oriented(rectangle(0, 0, 100, 50), clockwise=True),)),
        Part("part 1", rectangle(0, 0, 100, 50), (oriented(rectangle(0, 10, 100, 40), clockwise=True),)),
        Part("part 1", circle((50, 50), 60), (oriented(circle((50, 50), 59.9), clockwise=True),)),
        Part("part 1", rectangle(0, 0, 100, 50), (), (Hole((50, 0), 40.0), Hole((50, 25), 49.9))),
    ],
    ids=["no wood", "cut in two", "thin ring", "holes over the edge"],
)
@pytest.mark.parametrize("name", ["part 1", "shelf"])
def test_a_part_with_hardly_any_wood_is_numbered_too(part: Part, name: str) -> None:
    assert words(picture(replace(part, name=name))).count("1") == 1


def test_findings_of_one_place_share_a_mark() -> None:
    found = (*(at(k, 50.0 + 0.01 * k, 50.0) for k in range(5)), at(6, 150.0, 50.0))
    root = picture(PLATE, findings=found)
    said = words(root)
    assert "1\N{EN DASH}5" in said and said.count("6") == 2  # its mark and its row in the list
    assert len(marks(root)) == 2


@pytest.mark.parametrize("count", [50, 400, 2000])
def test_every_finding_with_a_place_is_marked_however_many(count: int) -> None:
    """Numbers of all marks together are the numbers of all findings, and no mark lies on another."""
    found = tuple(at(k, 200 * (k * 0.61803 % 1), 100 * (k * 0.41421 % 1)) for k in range(count))
    root = picture(PLATE, findings=(*found, Finding("error", "e", "no place")))
    boxes = marks(root)
    assert 10 < len(boxes) <= 60
    assert not any(a.meets(b) for k, a in enumerate(boxes) for b in boxes[:k])
    rings = [c for c in root.iter(f"{SVG}circle") if c.attrib["r"] == "0.7"]
    assert len(rings) >= min(count, 50) - 2
    if count == 50:
        numbers = [n for text in words(root) for n in _spread(text)]
        assert set(numbers) >= set(range(2, 52))


def _spread(text: str) -> list[int]:
    if not re.fullmatch(r"\d+([\u2013]\d+)?(, \d+([\u2013]\d+)?)*", text):
        return []
    runs = [[int(n) for n in run.split("\N{EN DASH}")] for run in text.split(", ")]
    return [n for run in runs for n in range(run[0], run[-1] + 1)]


def test_a_finding_outside_the_picture_is_marked_at_its_rim() -> None:
    root = picture(PLATE, findings=(at(1, 5000.0, 50.0),))
    (box,) = marks(root)
    width = float(root.attrib["viewBox"].split()[2])
    assert 0 < box.x < width
    assert not [c for c in root.iter(f"{SVG}circle") if c.attrib["r"] == "0.7"]


def test_lines_that_are_not_cut_are_dashed_and_named_below() -> None:
    loop, far = rectangle(220, 0, 260, 40), Path((Line((9000, 0), (9100, 0)),))
    root = picture(PLATE, left=(loop, far))
    drawn = [path.attrib["d"] for path in dashed(root)]
    assert any("M220 0" in d for d in drawn) and not any("9000" in d for d in drawn)
    assert all("stroke-dasharray" in path.attrib for path in dashed(root))
    assert "not cut (and 1 far outside the picture)" in words(root)
    assert dashed(picture(PLATE)) == [] and "not cut" not in words(picture(PLATE))


def test_without_parts_the_lines_that_are_not_cut_fill_the_picture() -> None:
    root = picture(left=(rectangle(9000, 0, 9040, 40),))
    assert any("M9000 0" in path.attrib["d"] for path in dashed(root))


def test_a_long_list_is_cut_short_and_says_where_the_rest_is() -> None:
    parts = [Part(f"shelf {k} of many", rectangle(12 * k, 0, 12 * k + 10, 10)) for k in range(300)]
    found = tuple(Finding("note", "r", f"m {k}") for k in range(200))
    said = words(picture(*parts, findings=found))
    assert "and 140 more, all in the table of inspect" in said
    assert "and 120 more, all in the words of inspect --json" in said


def test_the_same_drawing_gives_the_same_bytes() -> None:
    drawn = Drawn("b.dxf", "mm", "header", (PLATE,), findings=(at(1, 10, 10),), left=(rectangle(1, 1, 2, 2),))
    assert inspection_svg(drawn) == inspection_svg(replace(drawn))


def test_a_box_is_free_until_another_meets_it() -> None:
    taken = Taken(10.0)
    taken.add(Box(0, 0, 50, 4))
    assert not taken.is_free(Box(24, 0, 4, 4)) and taken.is_free(Box(28, 0, 4, 4))
    assert taken.is_free(Box(0, 5, 4, 4))
