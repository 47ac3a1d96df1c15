"""The coupon's sheet of paper and its drawing."""

from __future__ import annotations

import functools
import html
import pathlib
import re
import xml.etree.ElementTree as ET

import pytest

from camkit.drawing.read import read
from camkit.drawing.write_dxf import dxf_rules, dxf_text
from camkit.errors import InputError
from camkit.geometry.measure import bounds
from camkit.job.load import parse
from camkit.job.model import Job
from camkit.joinery.coupon import Coupon, coupon
from camkit.joinery.coupon_pieces import STEPS
from camkit.pipeline import Result, make_coupon
from camkit.report.coupon_files import drawn_coupon, write_coupon
from camkit.report.coupon_page import coupon_html

BASE = "[sheet]\nmeasured_thickness = [17.6, 17.7]\n[[cutter]]\nnumber = 1\ndiameter = 6.35\n"


@functools.cache
def made() -> tuple[Result, Coupon]:
    tables = {"glue_up": ({"name": "end", "layers": ("a", "b"), "dowel": 8.0},), "title": "Tray <1> & more"}
    job = Job.model_validate({**parse(BASE, "job.toml").model_dump(), **tables})
    piece = coupon(job, job.sheet[0])
    return make_coupon(piece, "coupon"), piece


def words(page: str) -> str:
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", page)))


def test_its_lines_filled_in_are_a_job_with_readings() -> None:
    page = coupon_html(*made())
    lines = html.unescape(re.search(r"<pre>(.*?)</pre>", page, re.DOTALL).group(1))
    for value in ("17.66", "0.10", "0.15", "0.0", "0.05", "18.02", "18.03", "49.96", "49.95"):
        lines = lines.replace("_____", value, 1)
    assert "_" not in lines.replace("cut_for", "").replace("by_", "").replace("widest_slot", "")
    measured = parse(BASE + lines + "\n", "job.toml").fit.measured
    assert measured is not None
    assert (measured.cut_for, measured.cutter, measured.tongue) == (17.65, 6.35, 17.66)
    assert (measured.by_hand, measured.by_mallet) == ((0.1, 0.15), (0.0, 0.05))
    assert (measured.widest_slot, measured.block) == ((18.02, 18.03), (49.96, 49.95))


def test_lines_that_were_not_filled_in_are_refused() -> None:
    page = coupon_html(*made())
    lines = html.unescape(re.search(r"<pre>(.*?)</pre>", page, re.DOTALL).group(1))
    with pytest.raises(InputError):
        parse(BASE + lines + "\n", "job.toml")


def test_every_slot_of_both_plates_has_its_mark_in_figures() -> None:
    svg = ET.fromstring(re.search(r"<svg xmlns.*?</svg>", coupon_html(*made()), re.DOTALL).group(0))
    said = [text.text for text in svg.iter("{http://www.w3.org/2000/svg}text")]
    for step in STEPS:
        figures = f"{abs(step):.2f}"
        sign = "+" if step > 0 else "\N{MINUS SIGN}" if step < 0 else ""
        assert said.count(sign + figures) == 2, step
    assert {"X", "Y", "tongue", "block", "50.00", "+0.3"} <= set(said)


def test_it_says_sheet_cutter_fields_and_cautions() -> None:
    said = words(coupon_html(*made()))
    assert "Tray <1> & more: test coupon" in said
    assert "2 readings, 0.10 apart" in said and "17.65 thick" in said and "6.35 wide" in said
    assert "width of slot +0.40, programmed 18.05" in said
    assert "Hands off until the spindle stands still." in said
    assert "collect the dust" in said and "Glasses and hearing protection" in said
    assert "backlash or belt" in said and "wrong thickness or wrong cutter" in said


def test_it_asks_nothing_of_the_network_and_runs_nothing() -> None:
    page = coupon_html(*made())
    assert "<script" not in page and "default-src 'none'" in page
    assert set(re.findall(r"https?://[^\"' ]+", page)) == {"http://www.w3.org/2000/svg"}


def test_the_drawing_reads_back_as_the_same_pieces(tmp_path: pathlib.Path) -> None:
    _, piece = made()
    drawn = drawn_coupon(piece)
    place = tmp_path / "coupon.dxf"
    place.write_text(dxf_text(drawn), encoding="utf-8")
    again = read(place, unit=None, rules=dxf_rules(drawn))
    assert {part.name for part in again.parts} == {"slots X", "slots Y", "tongue", "block"}
    for part in again.parts:
        (own,) = [p for p in piece.parts if p.name == part.name]
        assert bounds(part.outline) == pytest.approx(bounds(own.outline), abs=1e-4)
        assert [len(part.openings), len(part.holes), len(part.pockets)] == [
            len(own.openings),
            len(own.holes),
            len(own.pockets),
        ]


def test_everything_lies_in_one_folder_and_twice_the_same(tmp_path: pathlib.Path) -> None:
    result, piece = made()
    contents = []
    for folder in (tmp_path / "a", tmp_path / "b"):
        written = write_coupon(result, piece, folder)
        assert {p.name for p in written} == {
            *("coupon-1.nc", "coupon.dxf", "coupon.html", "preview.html", "report.json"),
            *("sheet-1.png", "sheet-1.svg"),
        }
        contents.append([p.read_bytes() for p in written])
    assert contents[0] == contents[1]
    write_coupon(result, piece, tmp_path / "a")


def test_a_drawing_of_that_name_made_by_somebody_else_is_kept(tmp_path: pathlib.Path) -> None:
    (tmp_path / "coupon.dxf").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="was not made by camkit and is kept"):
        write_coupon(*made(), tmp_path)
    assert (tmp_path / "coupon.dxf").read_text("utf-8") == "mine"
