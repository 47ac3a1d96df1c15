"""Pictures are to scale, lettered, marked and the same every time."""

from __future__ import annotations

import io
import re
import struct
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from PIL import Image
from support.bench_by_hand import PLACED, bench

from camkit.errors import Finding
from camkit.geometry.measure import bounds
from camkit.pipeline import Result
from camkit.report.picture import png, sheet_svg

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def drawn(refused: Result) -> ET.Element:
    return ET.fromstring(sheet_svg(refused, 1))


def words(root: ET.Element) -> list[str]:
    return [text.text or "" for text in root.iter(f"{SVG}text")]


def ends(data: str) -> list[tuple[float, float]]:
    """The points that a path's M, L and A commands reach: the extent, where bows end on it."""
    points = []
    for command, rest in re.findall(r"([MLA])([^MLAZ]*)", data):
        numbers = [float(n) for n in re.findall(r"-?[\d.]+", rest)]
        points.append((numbers[-2], numbers[-1]) if command == "A" else (numbers[0], numbers[1]))
    return points


def test_printed_at_its_own_size_the_sheet_is_one_to_ten(drawn: ET.Element) -> None:
    _, _, wide, high = (float(n) for n in drawn.attrib["viewBox"].split())
    assert drawn.attrib["width"] == f"{wide / 10:g}mm"
    assert drawn.attrib["height"] == f"{high / 10:g}mm"
    assert "1 : 10" in words(drawn)
    assert wide / 10 <= 297, "it fits a lying A4"


def test_outlines_are_drawn_in_millimetres_of_the_sheet(drawn: ET.Element) -> None:
    group = next(g for g in drawn.iter(f"{SVG}g"))
    assert group.attrib["transform"].endswith("scale(1 -1)")
    inked = [ends(p.attrib["d"]) for p in group.iter(f"{SVG}path") if p.attrib.get("stroke-width") == "3"]
    for piece in PLACED:
        x0, y0, x1, y1 = bounds(piece.shape.outline)
        assert any(
            (min(x for x, _ in points), min(y for _, y in points)) == pytest.approx((x0, y0), abs=0.001)
            and (max(x for x, _ in points), max(y for _, y in points)) == pytest.approx((x1, y1), abs=0.001)
            for points in inked
        ), piece.part.name


def test_what_is_cut_away_is_as_wide_as_the_cutter(drawn: ET.Element) -> None:
    round_ended = [p for p in drawn.iter(f"{SVG}path") if p.attrib.get("stroke-linecap") == "round"]
    assert round_ended and {p.attrib["stroke-width"] for p in round_ended} == {"6"}


def test_operations_are_told_apart_without_colour(drawn: ET.Element) -> None:
    dashes = {
        p.attrib["class"]: p.attrib.get("stroke-dasharray") for p in drawn.iter() if "class" in p.attrib
    }
    assert set(dashes) == {"pocket", "hole", "opening", "profile"}
    assert len(set(dashes.values())) == 4


def test_every_part_is_named_with_its_size_and_its_face(drawn: ET.Element) -> None:
    said = words(drawn)
    for name in ("end frame, outer 1", "end frame, outer 2", "shelf", "back rail", "tool peg 3"):
        assert name in said
    assert "1150 \N{MULTIPLICATION SIGN} 380" in said
    assert "560 \N{MULTIPLICATION SIGN} 820, face down" in said


def test_findings_are_numbered_marked_and_listed(drawn: ET.Element) -> None:
    said = words(drawn)
    for number in "12345":
        assert said.count(number) == 2, "once at its place and once in the list"
    assert any(text.startswith("error, gouge: line 350, part shelf") for text in said)
    assert "Refused: 2 errors" in said


def test_discs_of_findings_never_lie_over_each_other(sound: Result) -> None:
    crowd = tuple(
        Finding("error", "gouge", f"bite {n}", x_mm=500.0 + n, y_mm=300.0, part="shelf") for n in range(30)
    )
    program = sound.programs[0]
    judged = replace(program, verdict=replace(program.verdict, findings=crowd))
    root = ET.fromstring(sheet_svg(replace(sound, programs=(judged,), findings=()), 1))
    discs = [
        (float(c.attrib["cx"]), float(c.attrib["cy"]))
        for c in root.iter(f"{SVG}circle")
        if c.attrib["r"] == "20"
    ]
    shown = [d for d in discs if d[1] < 1400]
    assert len(shown) == 30
    assert all(
        (a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 >= 40**2 for i, a in enumerate(shown) for b in shown[:i]
    )


def test_a_long_list_of_findings_ends_with_how_many_more(sound: Result) -> None:
    many = tuple(Finding("note", "r", f"number {n}") for n in range(60))
    root = ET.fromstring(sheet_svg(replace(sound, findings=many), 1))
    assert any(text.startswith("and ") and "report.json" in text for text in words(root))


def test_letters_really_appear_in_the_png(sound: Result) -> None:
    svg = sheet_svg(sound, 1)
    bare = re.sub(r"<text.*?</text>", "", svg)
    assert bare != svg
    with_letters, without = png(svg), png(bare)
    assert len(with_letters) > 1.1 * len(without)


def test_a_png_has_the_size_of_the_page_at_192_dots_an_inch(sound: Result) -> None:
    """Width stands in bytes 16 to 20, in the IHDR chunk (ISO/IEC 15948 section 11.2.2)."""
    svg = sheet_svg(sound, 1)
    wide = float(re.search(r'width="([\d.]+)mm"', svg).group(1))
    assert struct.unpack(">I", png(svg)[16:20])[0] == pytest.approx(wide / 25.4 * 192, abs=1)


def test_a_png_is_sound_for_another_reader_and_says_who_made_it(sound: Result) -> None:
    with Image.open(io.BytesIO(png(sheet_svg(sound, 1)))) as picture:
        picture.load()
        assert picture.info["Software"] == "camkit"


def test_the_same_result_gives_the_same_bytes(sound: Result) -> None:
    again = bench()
    assert sheet_svg(sound, 1) == sheet_svg(again, 1)
    assert png(sheet_svg(sound, 1)) == png(sheet_svg(again, 1))


def test_names_with_signs_and_control_characters_stay_well_formed(sound: Result) -> None:
    odd = replace(PLACED[2].part, name='a<b> & "c" \x07\ufffe -- Bürste')
    placed = (replace(PLACED[2], part=odd),)
    job = sound.job.model_copy(update={"title": "-->]]><evil>"})
    root = ET.fromstring(sheet_svg(replace(sound, job=job, placed=placed), 1))
    assert 'a<b> & "c"  -- Bürste' in words(root)


def test_a_sheet_that_is_not_there_is_refused(sound: Result) -> None:
    with pytest.raises(ValueError, match="there is no sheet 7; sheets are \\[1\\]"):
        sheet_svg(sound, 7)


def test_a_sheet_without_programs_is_drawn_too(sound: Result) -> None:
    root = ET.fromstring(sheet_svg(replace(sound, programs=(), cuts=()), 1))
    assert "no program, 0:00" in words(root)
