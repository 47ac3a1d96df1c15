"""Files made to break a reader, by name: how each is made, and what reading it must come to."""

from __future__ import annotations

import gzip
import math
import random
from collections.abc import Callable
from dataclasses import dataclass

from ezdxf.document import Drawing

from support.hostile_dxf import entities, with_document

__all__ = ["SAMPLES", "Sample", "svg"]

LINE = 'fill="none" stroke="black"'


@dataclass(frozen=True)
class Sample:
    """`says` stands in the refusal, or in the findings when `parts` are read; `large` takes seconds."""

    make: Callable[[], bytes]
    says: str
    parts: int = 0
    large: bool = False


def svg(
    body: str, declared: str = "", head: str = 'width="200mm" height="100mm" viewBox="0 0 200 100"'
) -> bytes:
    """An SVG file with a plate of 90 x 60 before the body."""
    plate = f'<rect width="90" height="60" {LINE}/>'
    return f'{declared}<svg xmlns="http://www.w3.org/2000/svg" {head}>{plate}{body}</svg>'.encode()


def _line(ax: float, ay: float, bx: float, by: float) -> str:
    return f"0\nLINE\n8\n0\n10\n{ax}\n20\n{ay}\n11\n{bx}\n21\n{by}\n"


def _circle(x: float, y: float, radius: float) -> str:
    return f"0\nCIRCLE\n8\n0\n10\n{x}\n20\n{y}\n40\n{radius}\n"


def _spline(degree: int, knots: list[object], count: int, reach: float = 7) -> str:
    head = f"0\nSPLINE\n8\n0\n70\n8\n71\n{degree}\n72\n{len(knots)}\n73\n{count}\n74\n0\n"
    places = (f"10\n{i % 999}\n20\n{i % reach}\n30\n0\n" for i in range(count))
    return head + "".join(f"40\n{knot}\n" for knot in knots) + "".join(places)


def _clamped(count: int) -> list[object]:
    return [0, 0, 0, *range(count - 2), count - 3, count - 3, count - 3]


def _array(rows: int, columns: int, spacing: float) -> Callable[[Drawing], object]:
    def draw(document: Drawing) -> None:
        document.blocks.new("B").add_line((0, 0), (1, 0))
        how = {"row_count": rows, "column_count": columns, "row_spacing": spacing, "column_spacing": 2}
        document.modelspace().add_blockref("B", (0, 0), how)

    return draw


def _bomb(leaf: bool) -> Callable[[Drawing], object]:
    def draw(document: Drawing) -> None:
        block = document.blocks.new("B0")
        if leaf:
            block.add_line((0, 0), (1, 0))
        for level in range(1, 11):
            block = document.blocks.new(f"B{level}")
            for k in range(10):
                block.add_blockref(f"B{level - 1}", (k, 0), {"xscale": 1.1, "rotation": 7 * k})
        document.modelspace().add_blockref("B10", (0, 0))

    return draw


def _nested(deep: int) -> Callable[[Drawing], object]:
    def draw(document: Drawing) -> None:
        document.blocks.new("B0").add_circle((0, 0), 30)
        for level in range(1, deep):
            document.blocks.new(f"B{level}").add_blockref(f"B{level - 1}", (1, 0))
        document.modelspace().add_blockref(f"B{deep - 1}", (500, 0))

    return draw


def _in_itself(document: Drawing) -> None:
    one, other = document.blocks.new("ONE"), document.blocks.new("OTHER")
    one.add_circle((0, 0), 30)
    one.add_blockref("OTHER", (100, 0))
    other.add_blockref("ONE", (0, 100))
    document.modelspace().add_blockref("ONE", (500, 0))


def _hatched(document: Drawing) -> None:
    hatch = document.modelspace().add_hatch()
    for i in range(3000):
        hatch.paths.add_polyline_path([(i, 0), (i + 0.5, 0), (i + 0.5, 1), (i, 1)])


def _fitted(document: Drawing) -> None:
    document.modelspace().add_spline([(i % 999, i % 77, 0) for i in range(5000)])


def _scattered(count: int, reach: float) -> str:
    chance = random.Random(1)
    return "".join(_line(*(chance.uniform(0, reach) for _ in range(4))) for _ in range(count))


def _ellipse(reach: str) -> str:
    return f"0\nELLIPSE\n8\n0\n10\n0\n20\n0\n11\n{reach}\n21\n0\n40\n0.5\n41\n0\n42\n6.2831853\n"


_MANY = "entities; up to 100000 are read"
_BLOCKS = "its blocks draw more than 100000 entities"
_LOL = "".join(f'<!ENTITY l{i} "{f"&l{i - 1};" * 10}">' for i in range(1, 10))

SAMPLES: dict[str, Sample] = {
    # DXF: too much
    "lines": Sample(lambda: entities(_line(0, 0, 5, 5) * 101_000), _MANY),
    "lines by the million": Sample(lambda: entities(_line(0, 0, 5, 5) * 1_000_000), _MANY, large=True),
    "vertices": Sample(
        lambda: entities("0\nPOLYLINE\n8\n0\n" + "0\nVERTEX\n10\n1\n20\n1\n" * 101_000), _MANY
    ),
    "corners": Sample(
        lambda: entities("0\nLWPOLYLINE\n8\n0\n90\n9\n70\n1\n" + "10\n0\n20\n0\n" * 410_000),
        "values; up to 800000 are read",
    ),
    "corners by the ten million": Sample(
        lambda: entities("0\nLWPOLYLINE\n8\n0\n90\n9\n70\n1\n" + "10\n0\n20\n0\n" * 10_000_000),
        "the file has 1.. MB",
        large=True,
    ),
    "array": Sample(lambda: with_document(_array(10_000, 10_000, 2)), _BLOCKS),
    "array without spacing": Sample(lambda: with_document(_array(10**9, 2, 0)), _BLOCKS),
    "blocks in blocks": Sample(lambda: with_document(_bomb(True)), _BLOCKS),
    "blocks in blocks of nothing": Sample(lambda: with_document(_bomb(False)), _BLOCKS),
    "deep blocks": Sample(lambda: with_document(_nested(40)), "nested 40 deep, more than 32", 1),
    "blocks as deep as read": Sample(lambda: with_document(_nested(32)), "", 2),
    "blocks very deep": Sample(lambda: with_document(_nested(1500)), "nested 1500 deep", 1),
    "a block in itself": Sample(lambda: with_document(_in_itself), 'block "ONE" holds itself', 1),
    "a large hatch": Sample(lambda: with_document(_hatched), "left out: 1 HATCH", 1),
    "a long text": Sample(
        lambda: entities(
            "0\nMTEXT\n8\n0\n10\n1\n20\n1\n40\n5\n1\n" + "{\\fArial|b0;x\\P\\H1.5x;" * 200_000 + "\n"
        ),
        "1 MTEXT",
        1,
    ),
    # DXF: numbers
    "an ellipse beyond all": Sample(lambda: entities(_ellipse("1e300")), "lies more than 10 km out"),
    "an ellipse of no number": Sample(lambda: entities(_ellipse("nan")), "is not a number"),
    "ellipses of kilometres": Sample(
        lambda: entities(_ellipse("9e6") * 20), "more than 500000 lines and arcs"
    ),
    "bulges beyond all": Sample(
        lambda: entities(
            "0\nLWPOLYLINE\n8\n0\n90\n2\n70\n1\n10\n200\n20\n0\n42\n1e300\n10\n290\n20\n0\n42\nnan\n"
        ),
        "cannot be read and is left out",
        1,
    ),
    "a spline of degree 1000": Sample(
        lambda: entities(_spline(1000, [0] * 1001 + [1] * 1001, 1001)), "unreadable|cannot be read", 1
    ),
    "a knot of no number": Sample(
        lambda: entities(_spline(3, [0, 0, 0, 0, "nan", 1, 1, 1, 1], 5)), "its knots are no rising row", 1
    ),
    "falling knots": Sample(
        lambda: entities(_spline(3, [0, 0, 0, 0, -5, 1, 1, 1, 1], 5)), "its knots are no rising row", 1
    ),
    "too few knots": Sample(lambda: entities(_spline(3, [0, 0, 0, 0, 1], 5)), "9 knot values required", 1),
    "a spline of 50000 points": Sample(
        lambda: entities(_spline(3, _clamped(50_000), 50_000, 77)), "more than 200000 points", 1, large=True
    ),
    "a curve through 5000 points": Sample(lambda: with_document(_fitted), "more than 1000 points", 1),
    # DXF: crowds
    "circles in each other": Sample(
        lambda: entities("".join(_circle(0, 0, 1 + i / 5) for i in range(1600))),
        "pairs of closed lines lie over",
    ),
    "circles across each other": Sample(
        lambda: entities("".join(_circle(i % 37, i % 41, 500 + i / 100) for i in range(1600))),
        "pairs of closed lines lie over",
    ),
    "a star of lines": Sample(
        lambda: entities("".join(_line(0, 0, 999 * math.cos(i), 999 * math.sin(i)) for i in range(2000))),
        "more than 1000 lines begin or end at one point",
    ),
    "lines all over": Sample(lambda: entities(_scattered(3000, 1000)), "loose lines run across each other"),
    "lines on a heap": Sample(lambda: entities(_scattered(3000, 9)), "loose"),
    "a grid": Sample(
        lambda: entities(
            "".join(_line(i * 10, 0, i * 10, 900) + _line(0, i * 10, 900, i * 10) for i in range(91))
        ),
        "lines cross each other at more than 5000 points",
    ),
    # SVG: too much
    "deep groups": Sample(lambda: svg("<g>" * 1_000_000), "nested deeper than 200"),
    "many elements": Sample(lambda: svg("<g/>" * 210_000), "more than 200000 elements"),
    "a long path": Sample(
        lambda: svg(f'<path d="M0 0{"l1 1-1 1" * 260_000}" {LINE}/>'),
        "one path takes more than 500000",
        large=True,
    ),
    "a path of 100 MB": Sample(
        lambda: svg(f'<path d="M0 0{" 1.23456789 2.3456789" * 5_000_000}"/>'),
        "the file has 1.. MB",
        large=True,
    ),
    "curves of kilometres": Sample(
        lambda: svg(f'<path d="M0 0{"C1e6 0 0 1e6 1e6 1e6" * 3000}" {LINE}/>'), "one path takes more than"
    ),
    "a rounding of light years": Sample(
        lambda: svg(f'<path d="M0 0A1e13 1e13 0 1 1 10 10" {LINE}/>'), "radius is more than 10 km", 1
    ),
    "references that multiply": Sample(
        lambda: svg(
            "<defs>"
            + "".join(f'<g id="g{k}">{f"""<use href="#g{k + 1}"/>""" * 10}</g>' for k in range(9))
            + '</defs><use href="#g0"/>'
        ),
        "more than 50000 <use> elements",
    ),
    "references to nothing much": Sample(
        lambda: svg(f'<defs><g id="a">{"<g/>" * 20_000}</g></defs>' + '<use href="#a"/>' * 40),
        "draws more than 300000 elements",
        large=True,
    ),
    "a reference to itself": Sample(
        lambda: svg(f'<g id="a"><use href="#a"/><rect x="100" width="20" height="20" {LINE}/></g>'),
        "refers to itself",
        2,
    ),
    "many style rules": Sample(
        lambda: svg(f"<style>{'.a .b{fill:red}' * 3000}</style>" + '<path class="b" d="M0 0h1"/>' * 3000),
        "more rules than can be matched",
        large=True,
    ),
    # SVG: entities and patterns
    "entities of entities": Sample(
        lambda: svg("&l9;", f'<!DOCTYPE svg [<!ENTITY l0 "lol">{_LOL}]>'), "declares an ENTITY"
    ),
    "an entity of a file": Sample(
        lambda: svg("&x;", '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>'), "declares an ENTITY"
    ),
    "an entity over and over": Sample(
        lambda: svg("&a;" * 100_000, f'<!DOCTYPE svg [<!ENTITY a "{"a" * 900}">]>'), "entities without end"
    ),
    "digits": Sample(
        lambda: svg(f'<rect width="{"1" * 500_000}!" height="3" {LINE}/>'), "is not a length", 1
    ),
    "blanks": Sample(lambda: svg(f'<g transform="{" " * 500_000}x"/>'), 'transform "x" cannot be read'),
    "comments": Sample(lambda: svg(f"<style>{'/*' * 500_000}</style>"), "", 1),
    "braces": Sample(lambda: svg(f"<style>{'a{' * 500_000}</style>"), "", 1),
    "a compressed bomb": Sample(
        lambda: gzip.compress(b"<svg>" + b" " * 100_000_000, 1),
        "compressed file holds more than 67 MB",
        large=True,
    ),
    "a page of nothing": Sample(
        lambda: svg("", head='width="5mm" height="5mm" viewBox="0 0 0 0"'), "page size cannot be read"
    ),
    "a page beyond all": Sample(
        lambda: svg("", head='width="5mm" height="5mm" viewBox="0 0 1e-300 1e-300"'), "more than 10 km out"
    ),
}
