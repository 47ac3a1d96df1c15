"""One part in a drawing: wood, recesses, holes, name and size."""

from __future__ import annotations

from camkit.geometry.measure import bounds
from camkit.geometry.path import Path, circle
from camkit.part import Part
from camkit.report.labels import label_place, text_width
from camkit.report.paper import INK, Paper
from camkit.report.svg import lettering, number, path_data
from camkit.report.words import TIMES, length_text

__all__ = ["WOOD", "depth_tone", "inside_lines", "label", "outlines", "recesses", "size_text", "wood"]

WOOD = "#ead2a4"
# Shallow to deep, through is paper: the same tones as the preview's.
_SHALLOW, _DEEP = (0xD3, 0xAF, 0x7A), (0x8A, 0x62, 0x3C)


def depth_tone(share: float) -> str:
    """Tone of wood that lies `share` (0 to 1) of the thickness below the face."""
    clipped = min(1.0, max(0.0, share))
    mixed = (round(a + (b - a) * clipped) for a, b in zip(_SHALLOW, _DEEP, strict=True))
    return "#" + "".join(f"{value:02x}" for value in mixed)


def wood(part: Part) -> str:
    """The part's area, openings and through holes left out; in workpiece coordinates."""
    area = part.region()
    data = "".join(path_data(loop) for loop in (area.exterior, *area.interiors))
    return f'<path d="{data}" fill="{WOOD}" fill-rule="evenodd"/>'


def recesses(part: Part, thickness: float | None) -> list[str]:
    """Pockets and blind holes toned by depth; without a thickness all in one tone."""
    shallow: list[tuple[float, tuple[Path, ...]]] = [(p.depth, (p.outline, *p.islands)) for p in part.pockets]
    shallow += [(h.depth, (circle(h.centre, h.diameter),)) for h in part.holes if h.depth is not None]
    return [
        f'<path d="{"".join(path_data(loop) for loop in loops)}" fill-rule="evenodd" '
        f'fill="{depth_tone(depth / thickness if thickness else 0.4)}"/>'
        for depth, loops in sorted(shallow, key=lambda row: row[0])
    ]


def outlines(part: Part, paper: Paper) -> str:
    """Ink lines of the outline and the openings."""
    data = "".join(path_data(loop) for loop in (part.outline, *part.openings))
    return f'<path d="{data}" fill="none" stroke="{INK}" stroke-width="{number(0.3 * paper.mm)}"/>'


def inside_lines(part: Part, paper: Paper) -> str:
    """Thin ink lines of pockets and holes, holes with a centre cross."""
    mm = paper.mm
    data = "".join(path_data(p) for pocket in part.pockets for p in (pocket.outline, *pocket.islands))
    data += "".join(path_data(circle(h.centre, h.diameter)) for h in part.holes)
    sunk = [(h.centre, h.countersink.diameter) for h in part.holes if h.countersink is not None]
    data += "".join(path_data(circle(centre, wide)) for centre, wide in sunk)
    for hole in part.holes:
        (x, y), radius = hole.centre, hole.diameter / 2
        # Arms as long as the hole is wide: those of a fine grid must not meet.
        long = radius + min(1.1 * mm, max(0.4 * mm, radius))
        data += f"M{number(x - long)} {number(y)}h{number(2 * long)}"
        data += f"M{number(x)} {number(y - long)}v{number(2 * long)}"
    return f'<path d="{data}" fill="none" stroke="{INK}" stroke-width="{number(0.15 * mm)}"/>' if data else ""


def size_text(part: Part) -> str:
    """Length and width of the part's extent."""
    x0, y0, x1, y1 = bounds(part.outline)
    return f"{length_text(x1 - x0)} {TIMES} {length_text(y1 - y0)}"


def label(shape: Part, name: str, below: str, paper: Paper) -> str:
    """The name, and a smaller line below where there is room, in the roomiest spot of the part."""
    mm, place = paper.mm, label_place(shape)
    size = place.size_for(name, 3.6 * mm)
    small = min(0.72 * size, 0.92 * place.along / max(text_width(below, 1.0), 1e-9))
    two = bool(below) and small > 1.3 * mm and size + small < 0.85 * place.across
    px, py = paper.at(place.x, place.y)
    turned = f'transform="rotate(-90 {number(px)} {number(py)})"' if place.turned else ""
    halo = f'stroke="{WOOD}" stroke-width="{number(0.3 * size)}" stroke-linejoin="round" paint-order="stroke"'
    extra = f"{halo} {turned}".strip()
    if not two:
        return lettering(px, py + 0.36 * size, size, name, anchor="middle", extra=extra)
    return lettering(px, py - 0.05 * size, size, name, anchor="middle", extra=extra) + lettering(
        px, py + 0.1 * size + 1.05 * small, small, below, anchor="middle", extra=extra
    )
