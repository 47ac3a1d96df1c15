"""Drawings damaged at random: bytes and values of any file, entities of DXF files."""

from __future__ import annotations

import io
import math
import random
import re
from itertools import islice

import ezdxf
from ezdxf.document import Drawing
from ezdxf.entities import DXFGraphic
from ezdxf.lldxf.const import DXFError
from ezdxf.math import Matrix44
from ezdxf.math.transformtools import TransformError

from support.hostile_dxf import binary, new, saved

__all__ = ["SAMPLE_SVG", "damaged_bytes", "damaged_entities", "sample"]

_NUMBERS = re.compile(rb"[-+]?\d+(?:\.\d+)?")
_PLACES = ("start", "end", "center", "insert")
_ODD = (
    b"1e300",
    b"nan",
    b"-0",
    b"inf",
    b"99999999999999999999",
    b"-1",
    b"0",
    b"1e-300",
    b"1,5",
    b"0x1F",
    b"",
)

SAMPLE_SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">
<style>.cut { fill: none; stroke: #f00 } #gone { display: none }</style>
<g class="cut" transform="translate(5,5) rotate(3)">
<path d="M0,0 h180 a10,10 0 0 1 10,10 v80 c0,5 -5,10 -10,10 h-180 z m20,20 h40 v6 h-40 z"/>
<circle cx="120" cy="50" r="4"/><ellipse cx="150" cy="50" rx="9" ry="5"/>
<use href="#plate" x="10" y="120" transform="scale(1.1)"/></g>
<defs><g id="plate"><rect width="120" height="60" rx="6"/><polygon points="10,10 40,10 40,30"/></g></defs>
<rect id="gone" width="500" height="500"/>
<svg x="220" y="10" width="150" height="75" viewBox="0 0 300 150"><g class="cut">
<polyline points="10,10 290,10 290,140 10,140 10,10"/><line x1="0" y1="0" x2="30" y2="30"/></g></svg>
<text x="20" y="60">shelf</text></svg>"""


def sample(version: str = "R2010") -> Drawing:
    """A few parts of a potting bench, drawn in every way that outlines, slots, holes and blocks are drawn."""
    document = new(version)
    space = document.modelspace()
    is_old = version == "R12"

    def ring(points: list[tuple[float, ...]], layer: str = "0") -> None:
        how = {"layer": layer}
        if is_old:
            space.add_polyline2d(points, format="xyb", close=True, dxfattribs=how)
        else:
            space.add_lwpolyline(points, format="xyb", close=True, dxfattribs=how)

    ring([(0, 0, 0), (400, 0, 0.3), (400, 250, 0), (0, 250, 0)])
    ring([(40, 40, 0), (118, 40, 0), (118, 58, 0), (40, 58, 0)], "slots")
    ring([(200, 60, 1), (240, 60, 1)], "Pocket 6")
    for x in (60, 340):
        space.add_circle((x, 200), 4)
    for a, b in (
        ((500, 0), (700, 0)),
        ((700, 0), (700, 150)),
        ((700, 150), (540, 150)),
        ((500, 110), (500, 0)),
    ):
        space.add_line(a, b)
    space.add_arc((540, 110), 40, 90, 180)
    space.add_text("side", height=8).set_placement((560, 60))
    block = document.blocks.new("FOOT")
    block.add_circle((0, 0), 45)
    block.add_circle((0, 0), 5)
    space.add_blockref("FOOT", (100, 400))
    space.add_blockref("FOOT", (300, 400), {"xscale": -1.5, "yscale": 1.5, "rotation": 30})
    if not is_old:
        space.add_spline([(500, 300), (600, 340), (700, 300), (600, 260), (500, 300)])
        space.add_ellipse((600, 420), (60, 0), 0.5)
        space.add_blockref(
            "FOOT", (400, 600), {"row_count": 2, "column_count": 3, "row_spacing": 120, "column_spacing": 120}
        )
    return document


def damaged_bytes(content: bytes, chance: random.Random) -> bytes:
    """The content with one to six damages: bytes, pieces, numbers, lines or its end."""
    data = bytearray(content)
    for _ in range(chance.randint(1, 6)):
        if len(data) < 4:
            break
        _damage(data, chance)
    return bytes(data)


def _damage(data: bytearray, chance: random.Random) -> None:
    at = chance.randrange(len(data))
    size = chance.randint(1, 200)
    match chance.randrange(8):
        case 0:
            data[at] = chance.randrange(256)
        case 1:
            del data[at : at + size]
        case 2:
            data[at:at] = bytes(chance.randrange(256) for _ in range(chance.randint(1, 8)))
        case 3:
            data[at:at] = data[at : at + size]
        case 4:
            del data[max(1, len(data) - chance.randint(1, len(data) // 2 + 1)) :]
        case 5:  # a number in the text, whatever it means there
            found = _NUMBERS.search(data, at)
            if found:
                data[found.start() : found.end()] = chance.choice(_ODD)
        case 6:  # two neighbouring lines of text change places: a group code and its value
            first = data.find(b"\n", at)
            second = data.find(b"\n", first + 1)
            third = data.find(b"\n", second + 1)
            if 0 <= first < second < third:
                one, other = data[first + 1 : second], data[second + 1 : third]
                data[first + 1 : third] = other + b"\n" + one
        case 7:  # a whole line goes
            first = data.find(b"\n", at)
            second = data.find(b"\n", first + 1)
            if 0 <= first < second:
                del data[first:second]


def damaged_entities(content: bytes, chance: random.Random) -> bytes:
    """A DXF text with one to five of its entities changed; saved as text, seldom as binary."""
    document = ezdxf.read(io.StringIO(content.decode("utf-8", "surrogateescape")))
    for _ in range(chance.randint(1, 5)):
        held = [*document.modelspace(), *(e for block in document.blocks for e in block)]
        if not held:
            break
        entity = chance.choice(held)
        try:
            _change(document, entity, chance)
        except (
            DXFError,
            TransformError,
            ArithmeticError,
            AttributeError,
            LookupError,
            TypeError,
            ValueError,
            NotImplementedError,
        ):
            continue  # this kind of entity cannot be changed so
    return binary(document) if chance.random() < 0.1 else saved(document)


def _change(document: Drawing, entity: DXFGraphic, chance: random.Random) -> None:
    layout = entity.get_layout()
    match chance.randrange(11):
        case 0:
            layout.delete_entity(entity)
        case 1:
            layout.add_entity(entity.copy())
        case 2:
            copied = entity.copy()
            layout.add_entity(copied)
            copied.translate(chance.uniform(-300, 300), chance.uniform(-300, 300), 0)
        case 3:
            entity.transform(Matrix44.scale(-1, 1, 1))
        case 4:
            entity.transform(Matrix44.scale(chance.choice((0, 1e-9, 1e9, 25.4)), chance.choice((1, 0, 2)), 1))
        case 5:
            entity.dxf.extrusion = chance.choice(((0, 0, -1), (0, 0, 0), (1, 0, 0), (0.1, 0.2, 0.9)))
        case 6:
            entity.dxf.layer = chance.choice(("Pocket 6", "slots", "Türen", "x" * 300, "0", "Defpoints"))
        case 7:
            # A block may hold itself by now, and grow while it is walked through.
            for piece in list(islice(entity.virtual_entities(), 500)):
                layout.add_entity(piece)
            layout.delete_entity(entity)
        case 8:
            reach = 10 ** chance.uniform(-6, 0)
            name = chance.choice([place for place in _PLACES if entity.dxf.hasattr(place)] or ["end"])
            place = entity.dxf.get(name)
            entity.dxf.set(name, (place.x + reach, place.y - reach, place.z))
        case 9:
            document.blocks.get("FOOT").add_blockref("FOOT", (chance.uniform(0, 99), 0))
        case 10:
            angle = chance.uniform(0, math.tau)
            entity.transform(Matrix44.z_rotate(angle) @ Matrix44.translate(chance.uniform(0, 500), 0, 0))
