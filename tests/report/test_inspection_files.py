"""Pictures and clean drawings on disk: numbered, refused where something of somebody else's stands."""

from __future__ import annotations

import pathlib

import pytest
from support.bench_by_hand import PLACED

from camkit.drawing.drawn import Drawn
from camkit.errors import InputError
from camkit.report.inspection_files import write_inspection, written_lines

ONE, TWO = (Drawn(f"{k}.dxf", "mm", "header", (PLACED[k].shape,)) for k in (2, 3))


def test_files_of_several_drawings_are_numbered(tmp_path: pathlib.Path) -> None:
    written = write_inspection(
        [ONE, TWO], picture=tmp_path / "read.png", clean=tmp_path / "new" / "clean.dxf"
    )
    assert [p.name for p in written] == ["read-1.png", "read-2.png", "clean-1.dxf", "clean-2.dxf"]
    assert all(p.read_bytes().startswith(b"\x89PNG\r\n\x1a\n") for p in written[:2])
    assert all(p.read_bytes().startswith(b"999\nwritten by camkit\n") for p in written[2:])
    (alone,) = write_inspection([ONE], picture=tmp_path / "read.svg")
    assert alone.name == "read.svg" and alone.read_text("utf-8").startswith("<svg")


def test_other_endings_are_refused(tmp_path: pathlib.Path) -> None:
    with pytest.raises(InputError, match=r"read\.jpg: is neither \.svg nor \.png"):
        write_inspection([], picture=tmp_path / "read.jpg")
    with pytest.raises(InputError, match=r"clean\.svg: is not \.dxf"):
        write_inspection([], clean=tmp_path / "clean.svg")


@pytest.mark.parametrize(("what", "name"), [("picture", "plate.svg"), ("clean", "plate.dxf")])
def test_a_drawing_that_was_read_is_never_written_over(tmp_path: pathlib.Path, what: str, name: str) -> None:
    """Not even one that camkit wrote, nor under another spelling of its name."""
    place = tmp_path / name
    place.write_bytes(b"written by camkit")
    drawn = Drawn(str(place), "mm", "header", ONE.parts)
    with pytest.raises(InputError, match="is the drawing that was read, and is kept"):
        write_inspection([drawn], **{what: tmp_path / "x" / ".." / name})
    assert place.read_bytes() == b"written by camkit"


def test_somebody_else_s_file_is_kept_and_ours_replaced(tmp_path: pathlib.Path) -> None:
    place = tmp_path / "clean.dxf"
    place.write_text("0\nEOF\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"clean\.dxf: was not made by camkit and is kept"):
        write_inspection([ONE], picture=tmp_path / "read.svg", clean=place)
    assert not (tmp_path / "read.svg").exists(), "nothing is written when one file is refused"
    assert place.read_text("utf-8") == "0\nEOF\n"
    place.unlink()
    write_inspection([ONE], clean=place)
    write_inspection([TWO], clean=place)
    assert PLACED[3].part.name in place.read_text("utf-8")
    write_inspection([ONE], picture=tmp_path / "read.png")
    write_inspection([ONE], picture=tmp_path / "read.png")
    assert not list(tmp_path.glob(".*"))


def test_a_drawing_without_parts_gives_a_picture_and_no_clean_drawing(tmp_path: pathlib.Path) -> None:
    nothing = Drawn("empty.dxf", "mm", "header", ())
    written = write_inspection([nothing], picture=tmp_path / "read.svg", clean=tmp_path / "clean.dxf")
    assert [p.name for p in written] == ["read.svg"]
    assert written_lines([nothing], written) == []


def test_what_was_written_is_said_with_its_layers(tmp_path: pathlib.Path) -> None:
    written = write_inspection([ONE, TWO], clean=tmp_path / "clean.dxf")
    said = written_lines([ONE, TWO], written)
    assert said[0].endswith("clean-2.dxf. In a job its layers mean:")
    assert said[1:3] == ["[layers]", '"outline" = "profile"'] and len(set(said)) == len(said)
