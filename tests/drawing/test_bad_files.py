"""Files that are no drawings are refused in words; damaged ones never end in a traceback."""

import random
from pathlib import Path

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.drawing.read import read
from camkit.errors import InputError


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A DXF with every kind of line."""
    document = ezdxf.new("R2000", units=4)
    space = document.modelspace()
    space.add_lwpolyline([(0, 0, 0), (200, 0, 0.5), (200, 100, 0), (0, 100, 0)], format="xyb", close=True)
    space.add_circle((50, 50), 8)
    space.add_arc((300, 0), 40, 0, 180)
    space.add_line((260, 0), (340, 0))
    space.add_ellipse((400, 100), (40, 0), 0.5)
    space.add_spline([(500, 0), (550, 40), (600, 0), (550, -40), (500, 0)])
    block = document.blocks.new("B")
    block.add_circle((0, 0), 30)
    space.add_blockref("B", (800, 0), {"xscale": -2, "rotation": 20})
    space.add_text("shelf").set_placement((20, 20))
    path = tmp_path_factory.mktemp("sample") / "sample.dxf"
    document.saveas(path)
    return path.read_bytes()


SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100">
<g id="cut" transform="translate(5,5) rotate(3)" style="fill:none;stroke:#000">
<rect width="90" height="60" rx="4"/>
<path d="M10,10 h20 a5,5 0 0 1 5,5 v10 c0,5 -5,5 -10,5 q-5,0 -10,-5 z"/><circle cx="60" cy="20" r="5"/>
<use href="#p" x="100"/></g><defs><polygon id="p" points="0,0 40,0 40,30"/></defs>
<text x="9" y="9">a</text></svg>"""


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("empty.dxf", b"", "the file is empty"),
        ("blank.svg", b"\n \n\t", "the file is empty"),
        ("part.dxf", b"AC1027\x00\x00\x00", "this is a DWG file.*Save it as DXF"),
        ("part.dxf", b"%PDF-1.7\n", "neither a DXF nor an SVG file by its content"),
        ("part.dxf", b"PK\x03\x04", "this is a ZIP archive.*Unpack it"),
        ("part.svgz", b"\x1f\x8b\x08\x00", "compressed"),
        ("part.dxf", b"AutoCAD Binary DXF\r\n\x1a\x00\x01\x02", "damaged and cannot be read"),
        ("part.svg", "<svg>\xff</svg>".encode("latin-1"), "not well-formed XML"),
        ("page.svg", b"<!DOCTYPE html><html><body/></html>", "its root is <html>"),
    ],
)
def test_what_is_no_drawing_is_refused(tmp_path: Path, name: str, content: bytes, message: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(InputError, match=message) as caught:
        read(path)
    assert caught.value.findings[0].file == path.as_posix()


def test_missing_files_and_folders_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="there is no such file"):
        read(tmp_path / "nothing.dxf")
    with pytest.raises(InputError, match="this is a folder"):
        read(tmp_path)


def test_content_counts_before_the_extension(tmp_path: Path, sample: bytes) -> None:
    path = tmp_path / "drawing.svg"
    path.write_bytes(sample)
    assert len(read(path).parts) == 5


@pytest.mark.parametrize("number", ["nan", "inf", "1e300", "-1e9"])
@pytest.mark.parametrize("kind", ["AcDbCircle", "AcDbPolyline", "AcDbSpline", "AcDbLine", "AcDbEllipse"])
def test_impossible_coordinates_are_refused(tmp_path: Path, sample: bytes, number: str, kind: str) -> None:
    text = sample.decode()
    begin = text.index(kind, text.index("ENTITIES"))
    x = text.index("\n 10\n", begin) + 5
    path = tmp_path / "far.dxf"
    path.write_text(text[:x] + number + text[text.index("\n", x) :])
    with pytest.raises(InputError, match=r"is not a number|more than 10 km out"):
        read(path)


def test_a_block_that_holds_itself_ends(tmp_path: Path) -> None:
    document = ezdxf.new("R2010", units=4)
    one, other = document.blocks.new("ONE"), document.blocks.new("OTHER")
    one.add_circle((0, 0), 30)
    one.add_blockref("OTHER", (100, 0))
    other.add_blockref("ONE", (0, 100))
    document.modelspace().add_blockref("ONE", (0, 0))
    document.saveas(tmp_path / "f.dxf")
    try:
        read(tmp_path / "f.dxf")
    except InputError as refused:
        assert refused.findings[0].message


def test_blocks_that_multiply_are_stopped(tmp_path: Path) -> None:
    document = ezdxf.new("R2010", units=4)
    document.blocks.new("B").add_line((0, 0), (1, 0))
    rows = {"row_count": 30_000, "column_count": 30_000, "row_spacing": 2, "column_spacing": 2}
    document.modelspace().add_blockref("B", (0, 0), rows)
    document.saveas(tmp_path / "f.dxf")
    with pytest.raises(InputError, match=r"INSERT .* draw more than"):
        read(tmp_path / "f.dxf")


def test_blocks_of_blocks_are_stopped_while_they_multiply(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    document = ezdxf.new("R2010", units=4)
    document.blocks.new("B0").add_line((0, 0), (1, 0))
    for level in range(1, 12):
        block = document.blocks.new(f"B{level}")
        for k in range(4):
            block.add_blockref(f"B{level - 1}", (k, 0))
    document.modelspace().add_blockref("B11", (0, 0))
    document.saveas(tmp_path / "f.dxf")
    monkeypatch.setattr("camkit.drawing.dxf_blocks._MOST_ENTITIES", 1000)
    with pytest.raises(InputError, match=r"INSERT .* draw more than 1000"):
        read(tmp_path / "f.dxf")


def test_a_drawing_without_anything_is_an_error_but_no_exception(tmp_path: Path) -> None:
    ezdxf.new("R2010").saveas(tmp_path / "f.dxf")
    found = read(tmp_path / "f.dxf")
    assert found.parts == ()
    assert [(finding.level, finding.rule) for finding in found.findings] == [("error", "no-outline")]


def spoiled(content: bytes, chance: random.Random) -> bytes:
    """The content with some bytes changed, a piece missing, or a piece doubled."""
    data = bytearray(content)
    for _ in range(chance.randint(1, 6)):
        if len(data) < 2:
            break
        at = chance.randrange(len(data))
        match chance.randrange(4):
            case 0:
                data[at] = chance.randrange(256)
            case 1:
                del data[at : at + chance.randint(1, 200)]
            case 2:
                data[at:at] = data[at : at + chance.randint(1, 200)]
            case 3:
                del data[max(1, len(data) - chance.randint(1, 500)) :]
    return bytes(data)


@given(st.randoms(use_true_random=False))
@settings(derandomize=True, deadline=None, max_examples=25)
def test_damaged_files_give_findings_or_a_refusal(
    tmp_path_factory: pytest.TempPathFactory, sample: bytes, chance: random.Random
) -> None:
    path = tmp_path_factory.getbasetemp() / "spoiled"
    for content in (sample, SVG):
        path.write_bytes(spoiled(content, chance))
        try:
            found = read(path)
        except InputError as refused:
            assert refused.findings[0].file == path.as_posix()
        else:
            assert found.parts or any(finding.level == "error" for finding in found.findings)
