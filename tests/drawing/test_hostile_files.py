"""Files made to break the reader are refused in words or read rightly, within 10 s and 1 GiB."""

import gzip
import io
import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from ezdxf.document import Drawing
from support.bounded import BoundedReader
from support.hostile import SAMPLES, svg
from support.hostile_dxf import SQUARE, binary, entities, new, saved

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read
from camkit.errors import InputError
from camkit.geometry.measure import bounds
from camkit.geometry.path import signed_area

LONGEST_S = 10.0


@pytest.fixture(scope="module")
def reader() -> Iterator[BoundedReader]:
    """One that gives each file 60 s by the clock and 1 GiB of memory."""
    with BoundedReader(60) as reader:
        yield reader


@pytest.mark.parametrize("name", [name for name, sample in SAMPLES.items() if not sample.large])
def test_hostile_files_end_in_words_or_parts(tmp_path: Path, reader: BoundedReader, name: str) -> None:
    sample = SAMPLES[name]
    path = tmp_path / "drawing"
    path.write_bytes(sample.make())
    outcome = reader.read(path)
    assert outcome.kind == ("read" if sample.parts else "refused"), outcome.said
    assert outcome.parts == sample.parts
    assert re.search(sample.says, outcome.said)
    assert outcome.seconds <= LONGEST_S


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(InputError, match="this is not a plain file"):
        read(tmp_path / "pipe")


def read_back(tmp_path: Path, content: bytes) -> Drawn:
    path = tmp_path / "drawing.dxf"
    path.write_bytes(content)
    return read(path, unit="mm")


VERSIONS = ("R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018")


def plate(version: str) -> Drawing:
    document = new(version)
    space = document.modelspace()
    space.add_polyline2d([(0, 0), (90, 0), (90, 60), (0, 60)], close=True, dxfattribs={"layer": "Tür"})
    space.add_circle((20, 20), 6, dxfattribs={"layer": "Löcher"})
    return document


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("form", ["text", "binary", "CR", "CRLF", "CRCRLF", "UTF-16", "UTF-8", "null bytes"])
def test_every_release_and_form_reads_the_same(tmp_path: Path, version: str, form: str) -> None:
    document = plate(version)
    text = saved(document).replace(b"\r\n", b"\n")
    content = {
        "text": text,
        "binary": binary(document),
        "CR": text.replace(b"\n", b"\r"),
        "CRLF": text.replace(b"\n", b"\r\n"),
        "CRCRLF": text.replace(b"\n", b"\r\r\n"),
        "UTF-16": text.decode(document.output_encoding).encode("utf-16"),
        "UTF-8": text.decode(document.output_encoding).encode("utf-8"),
        "null bytes": text + b"\x00" * 512,
    }[form]
    found = read_back(tmp_path, content)
    (part,) = found.parts
    assert (signed_area(part.outline), part.source.layer) == (5400, "Tür")
    assert [(hole.centre, hole.diameter) for hole in part.holes] == [((20, 20), 12)]
    assert not [f for f in found.findings if f.level != "note"]


def test_layers_in_chinese_are_read_in_their_code_page(tmp_path: Path) -> None:
    """Code page 936 (GBK) is what $DWGCODEPAGE states as ANSI_936."""
    header = "9\n$ACADVER\n1\nAC1015\n9\n$DWGCODEPAGE\n3\nANSI_936\n"
    text = entities("", header).decode().replace("LWPOLYLINE\n8\n0", "LWPOLYLINE\n8\n切割层")
    assert read_back(tmp_path, text.encode("gbk")).parts[0].source.layer == "切割层"
    assert read_back(tmp_path, text.encode("utf-8")).parts[0].source.layer == "切割层"


def test_escaped_letters_of_layers_are_read(tmp_path: Path) -> None:
    text = entities("").decode().replace("LWPOLYLINE\n8\n0", "LWPOLYLINE\n8\nT\\U+00FCr")
    assert read_back(tmp_path, text.encode()).parts[0].source.layer == "Tür"


@pytest.mark.parametrize("stated", ["", "9\n$ACADVER\n1\nAC1009\n", "9\n$ACADVER\n1\nAC1015\n"])
@pytest.mark.parametrize("marked", [True, False])
def test_polylines_keep_layer_and_closing_whatever_the_header(
    tmp_path: Path, stated: str, marked: bool
) -> None:
    """The loader looks for them in front of the subclass marks only where the header says release 12."""
    text = entities("", stated).decode().replace("LWPOLYLINE\n8\n0\n", "LWPOLYLINE\n8\ncut\n")
    if marked:
        text = text.replace("8\ncut\n", "100\nAcDbEntity\n8\ncut\n100\nAcDbPolyline\n")
    (part,) = read_back(tmp_path, text.encode()).parts
    assert (part.source.layer, bounds(part.outline)) == ("cut", (0, 0, 90, 60))


def rules(found: Drawn) -> list[tuple[str, str]]:
    return [(finding.level, finding.rule) for finding in found.findings]


def test_a_file_cut_off_loses_its_last_entity_and_says_so(tmp_path: Path) -> None:
    whole = entities("0\nCIRCLE\n8\n0\n10\n200\n20\n0\n40\n30\n")
    for end in range(whole.index(b"LWPOLYLINE") + 12, whole.rindex(b"ENDSEC") - 3):
        found = read_back(tmp_path, whole[:end])
        assert [round(signed_area(part.outline)) for part in found.parts] == [2827]
        (torn,) = [f for f in found.findings if f.rule == "cut-off-file"]
        assert torn.level == "error" and "breaks off in its last LWPOLYLINE" in torn.message


def test_an_old_polyline_cut_off_is_left_out_whole(tmp_path: Path) -> None:
    corners = "".join(f"0\nVERTEX\n8\n0\n10\n{x}\n20\n{y}\n" for x, y in ((200, 0), (290, 0), (290, 60)))
    body = SQUARE + "0\nPOLYLINE\n8\n0\n66\n1\n70\n1\n" + corners + "0\nVERTEX\n8\n0\n10\n200"
    content = entities("")
    found = read_back(tmp_path, content[: content.index(b"0\nLWPOLYLINE")] + body.encode())
    assert [signed_area(part.outline) for part in found.parts] == [5400]
    assert ("error", "cut-off-file") in rules(found)


def test_a_file_without_an_end_mark_is_whole(tmp_path: Path) -> None:
    found = read_back(tmp_path, entities("").replace(b"0\nEOF\n", b""))
    assert len(found.parts) == 1 and ("note", "cut-off-file") in rules(found)


def test_nothing_is_left_of_a_file_cut_off_early(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="breaks off before its ENTITIES"):
        read_back(tmp_path, entities("")[:40])


def test_what_stands_after_the_end_is_told(tmp_path: Path) -> None:
    found = read_back(tmp_path, entities("") + entities("0\nCIRCLE\n8\n0\n10\n200\n20\n0\n40\n30\n"))
    assert len(found.parts) == 1 and ("warning", "after-the-end") in rules(found)


def test_entities_of_a_second_section_are_not_lost(tmp_path: Path) -> None:
    one = entities("").removesuffix(b"0\nEOF\n")
    more = "0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\n0\n10\n200\n20\n0\n40\n30\n0\nENDSEC\n0\nEOF\n"
    found = read_back(tmp_path, one + more.encode())
    assert len(found.parts) == 2 and ("warning", "repaired-file") in rules(found)


def test_entities_outside_of_sections_are_told(tmp_path: Path) -> None:
    content = entities("").replace(b"0\nEOF", b"0\nCIRCLE\n8\n0\n10\n200\n20\n0\n40\n30\n0\nEOF")
    found = read_back(tmp_path, content)
    (told,) = [f for f in found.findings if f.rule == "lost-entities"]
    assert "outside of any section are left out: 1, the first a CIRCLE" in told.message


@pytest.mark.parametrize("number", ["6O", "60,5", "six1"])
def test_a_number_that_is_guessed_is_an_error_with_its_line(tmp_path: Path, number: str) -> None:
    content = entities("").replace(b"\n60\n", f"\n{number}\n".encode(), 1)
    found = read_back(tmp_path, content)
    (told,) = [f for f in found.findings if f.rule == "damaged-number"]
    assert told.level == "error" and f'"{number}" and was taken as' in told.message and told.line


def test_repairs_are_told_by_kind(tmp_path: Path) -> None:
    document = plate("R2010")
    document.modelspace().add_blockref("NOWHERE", (0, 0))
    stream = io.StringIO()
    document.write(stream)
    torn = stream.getvalue().replace("ENDSEC\n  0\nSECTION\n  2\nOBJECTS", "SECTION\n  2\nOBJECTS", 1)
    found = read_back(tmp_path, torn.encode())
    (told,) = [f for f in found.findings if f.rule == "repaired-file"]
    assert "missing section ends" in told.message and "blocks that do not exist, left out" in told.message
    assert ("error", "lost-entities") in rules(found)


def test_a_compressed_drawing_is_read(tmp_path: Path) -> None:
    assert len(read_back(tmp_path, gzip.compress(entities(""))).parts) == 1
    assert len(read_back(tmp_path, gzip.compress(svg(""))).parts) == 1
    with pytest.raises(InputError, match=r"compressed .* and breaks off"):
        read_back(tmp_path, gzip.compress(svg(""))[:-30])
