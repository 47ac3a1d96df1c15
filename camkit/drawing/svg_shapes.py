"""SVG shapes as paths in mm: circles and round arcs stay arcs, other curves are flattened."""

from __future__ import annotations

import math
from collections.abc import Callable

from camkit.drawing.curves import arc_through, bezier_points, ellipse_points, lines_through
from camkit.drawing.sketch import MOST_SEGMENTS, Crowded, is_near
from camkit.drawing.svg_path import draw_path
from camkit.drawing.svg_tree import Node
from camkit.drawing.svg_values import Matrix, number, numbers, placed
from camkit.geometry.arc import is_flat
from camkit.geometry.path import Line, Path, Point, Segment, circle
from camkit.geometry.tolerance import FLATTEN, SAME_POINT

__all__ = ["SHAPES", "shape_paths"]

# Out to here a double still resolves an arc's points to 2 um.
_FARTHEST_CENTRE = 1e10
# Half axes this equal (in mm) are one radius: programs write 1.7499999 beside 1.7500004.
_ROUND = 1e-4


def _conjugate_axes(matrix: Matrix, rx: float, ry: float, turn: float) -> tuple[Point, Point]:
    a, b, c, d, _, _ = matrix
    cos, sin = math.cos(turn), math.sin(turn)
    return (
        ((a * cos + c * sin) * rx, (b * cos + d * sin) * rx),
        ((c * cos - a * sin) * ry, (d * cos - b * sin) * ry),
    )


def _round(major: Point, minor: Point) -> bool:
    a, b = math.hypot(*major), math.hypot(*minor)
    if a <= SAME_POINT:
        return False
    return abs(a - b) <= _ROUND and abs(major[0] * minor[0] + major[1] * minor[1]) <= _ROUND * a


class _Pen:
    """Receives path data in user units and keeps subpaths in mm."""

    def __init__(self, matrix: Matrix) -> None:
        self.matrix = matrix
        self.paths: list[Path] = []
        self._segments: list[Segment] = []
        self._count = 0
        self._first: Point = (0.0, 0.0)
        self._raw: Point = (0.0, 0.0)
        self._at: Point = (0.0, 0.0)

    def move(self, point: Point) -> None:
        self._segments = []
        self._raw, self._at = point, placed(self.matrix, point)
        self._first = self._at

    def _straight(self, end: Point) -> None:
        if math.dist(self._at, end) > SAME_POINT or not math.isfinite(end[0] + end[1]):
            self._segments.append(Line(self._at, end))
            self._at = end
            self._count += 1
            if self._count > MOST_SEGMENTS:
                raise Crowded(f"one path takes more than {MOST_SEGMENTS} lines")

    def line(self, point: Point) -> None:
        self._raw = point
        self._straight(placed(self.matrix, point))

    def curve(self, *controls: Point) -> None:
        self._raw = controls[-1]
        handles = [placed(self.matrix, p) for p in controls]
        far = next((p for p in handles if not is_near(p)), None)
        if far is not None:
            self._straight(far)  # where the caller will find it
            return
        points = bezier_points([self._at, *handles], FLATTEN)
        for point in points[1:]:
            self._straight(point)

    def arc(self, rx: float, ry: float, turn_deg: float, large: bool, sweep: bool, end: Point) -> None:
        start, self._raw = self._raw, end
        if rx == 0 or ry == 0 or start == end:
            self._straight(placed(self.matrix, end))
            return
        turn = math.radians(turn_deg)
        centre, rx, ry, first, last = _centre_form(start, end, rx, ry, turn, large, sweep)
        major, minor = _conjugate_axes(self.matrix, rx, ry, turn)
        place, target = placed(self.matrix, centre), placed(self.matrix, end)
        largest = math.hypot(*major, *minor)
        if is_flat(2 * largest * math.sin(min(abs(last - first), math.pi) / 4) ** 2, largest):
            self._straight(target)
            return
        if not (is_near(major) and is_near(minor)):
            cos, sin = math.cos((first + last) / 2), math.sin((first + last) / 2)
            middle = (
                place[0] + major[0] * cos + minor[0] * sin,
                place[1] + major[1] * cos + minor[1] * sin,
            )
            # A round arc takes no chords, so that its centre may lie far out.
            if not (_round(major, minor) and largest < _FARTHEST_CENTRE and is_near(middle)):
                raise ValueError("an arc's radius is more than 10 km")
        if _round(major, minor):
            turned_over = major[0] * minor[1] < major[1] * minor[0]
            arcs = arc_through(self._at, target, place, turned_over == (last > first))
            self._segments.extend(arcs)
            self._at = target if arcs else self._at
            return
        for point in (*ellipse_points(place, major, minor, first, last, FLATTEN)[1:-1], target):
            self._straight(point)

    def close(self) -> None:
        self._straight(self._first)
        self.stop()

    def stop(self) -> None:
        if self._segments:
            self.paths.append(Path(tuple(self._segments)))
        self._segments = []


def _centre_form(
    start: Point, end: Point, rx: float, ry: float, turn: float, large: bool, sweep: bool
) -> tuple[Point, float, float, float, float]:
    """Centre, radii and first and last parameter of an elliptical arc (SVG 1.1, F.6.5 and F.6.6)."""
    cos, sin = math.cos(turn), math.sin(turn)
    dx, dy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    x, y = cos * dx + sin * dy, cos * dy - sin * dx
    rx, ry = abs(rx), abs(ry)
    grow = math.hypot(x / rx, y / ry)
    if grow > 1:
        rx, ry = rx * grow, ry * grow
    part = (x / rx) ** 2 + (y / ry) ** 2
    root = math.sqrt(max(0.0, 1 / part - 1)) * (-1 if large == sweep else 1)
    u, v = root * rx * y / ry, -root * ry * x / rx
    centre = (
        cos * u - sin * v + (start[0] + end[0]) / 2,
        sin * u + cos * v + (start[1] + end[1]) / 2,
    )
    first = math.atan2((y - v) / ry, (x - u) / rx)
    turned = (math.atan2((-y - v) / ry, (-x - u) / rx) - first) % (2 * math.pi)
    return centre, rx, ry, first, first + turned if sweep else first + turned - 2 * math.pi


def _path_data(node: Node, matrix: Matrix) -> list[Path]:
    pen = _Pen(matrix)
    draw_path(node.attributes.get("d", ""), pen)
    return pen.paths


def _ellipse(centre: Point, rx: float, ry: float, matrix: Matrix) -> list[Path]:
    if rx <= 0 or ry <= 0:
        return []
    major, minor = _conjugate_axes(matrix, rx, ry, 0.0)
    place = placed(matrix, centre)
    if not (is_near(major) and is_near(minor)):
        raise ValueError("its radius is more than 10 km")
    if _round(major, minor):
        return [circle(place, math.hypot(*major) + math.hypot(*minor))]
    points = ellipse_points(place, major, minor, 0.0, 2 * math.pi, FLATTEN)
    lines = lines_through([*points[:-1], points[0]])
    return [Path(lines)] if lines else []


def _circle(node: Node, matrix: Matrix) -> list[Path]:
    a = node.attributes
    r = number(a, "r")
    return _ellipse((number(a, "cx"), number(a, "cy")), r, r, matrix)


def _ellipse_element(node: Node, matrix: Matrix) -> list[Path]:
    a = node.attributes
    rx, ry = number(a, "rx", -1.0), number(a, "ry", -1.0)
    return _ellipse((number(a, "cx"), number(a, "cy")), rx if rx >= 0 else ry, ry if ry >= 0 else rx, matrix)


def _rect(node: Node, matrix: Matrix) -> list[Path]:
    a = node.attributes
    x, y, width, height = (number(a, name) for name in ("x", "y", "width", "height"))
    if width <= 0 or height <= 0:
        return []
    rx, ry = number(a, "rx", -1.0), number(a, "ry", -1.0)
    rx, ry = min(rx if rx >= 0 else max(ry, 0.0), width / 2), min(ry if ry >= 0 else max(rx, 0.0), height / 2)
    pen = _Pen(matrix)
    pen.move((x + rx, y))
    # Clockwise in SVG's downward Y from the top edge on, as the standard draws it (SVG 1.1, 9.2).
    for corner, after in (
        ((x + width - rx, y), (x + width, y + ry)),
        ((x + width, y + height - ry), (x + width - rx, y + height)),
        ((x + rx, y + height), (x, y + height - ry)),
        ((x, y + ry), (x + rx, y)),
    ):
        pen.line(corner)
        if rx and ry:
            pen.arc(rx, ry, 0.0, False, True, after)
    pen.close()
    return pen.paths


def _line(node: Node, matrix: Matrix) -> list[Path]:
    a = node.attributes
    pen = _Pen(matrix)
    pen.move((number(a, "x1"), number(a, "y1")))
    pen.line((number(a, "x2"), number(a, "y2")))
    pen.stop()
    return pen.paths


def _points(node: Node, matrix: Matrix, *, closed: bool) -> list[Path]:
    values = numbers(node.attributes.get("points", ""))
    if len(values) % 2:
        raise ValueError("its points have an odd number of coordinates")
    points = list(zip(values[::2], values[1::2], strict=True))
    if not points:
        return []
    pen = _Pen(matrix)
    pen.move(points[0])
    for point in points[1:]:
        pen.line(point)
    if closed:
        pen.close()
    else:
        pen.stop()
    return pen.paths


SHAPES: dict[str, Callable[[Node, Matrix], list[Path]]] = {
    "path": _path_data,
    "circle": _circle,
    "ellipse": _ellipse_element,
    "rect": _rect,
    "line": _line,
    "polyline": lambda node, matrix: _points(node, matrix, closed=False),
    "polygon": lambda node, matrix: _points(node, matrix, closed=True),
}


def shape_paths(node: Node, matrix: Matrix) -> list[Path]:
    """The subpaths of a basic shape or path element; `matrix` leads from its user units to mm.

    Raises ValueError when its attributes cannot be read.
    """
    return SHAPES[node.tag](node, matrix)
