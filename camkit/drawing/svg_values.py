"""Values of SVG attributes: lengths, numbers, transforms, view boxes and the few styles that matter."""

from __future__ import annotations

import math
import re

__all__ = [
    "IDENTITY",
    "PX_PER_UNIT",
    "Matrix",
    "combined",
    "number",
    "numbers",
    "placed",
    "split_length",
    "transform",
    "transform_about",
    "view_matrix",
]

# x' = a x + c y + e, y' = b x + d y + f (SVG 1.1, 7.4)
Matrix = tuple[float, float, float, float, float, float]
IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

# CSS 2.1, 4.3.2: 96 px to the inch.
PX_PER_UNIT = {
    "": 1.0,
    "px": 1.0,
    "in": 96.0,
    "mm": 96 / 25.4,
    "cm": 96 / 2.54,
    "pt": 96 / 72,
    "pc": 16.0,
    "q": 96 / 101.6,
}
# Written so that no text takes more than one look at each of its characters.
_NUMBER = r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?"
_LENGTH = re.compile(rf"({_NUMBER})\s*([a-zA-Z%]*)")
_NUMBERS = re.compile(_NUMBER)
_TRANSFORM = re.compile(r"([a-zA-Z]+)\s*\(([^()]*)\)")
_GAP = re.compile(r"[\s,]*")
_UNIT_WORDS = re.compile(r"(?<=[\d.])(?:px|deg)\b")


def split_length(text: str) -> tuple[float, str]:
    """Number and unit (lower case, may be "%") of a length; raises ValueError."""
    match = _LENGTH.fullmatch(text.strip())
    if match is None:
        raise ValueError(f'"{text[:40]}" is not a length')
    return float(match[1]), match[2].lower()


def number(attributes: dict[str, str], name: str, default: float = 0.0) -> float:
    """A length attribute in user units (px); raises ValueError for percentages and unknown units."""
    text = attributes.get(name)
    if text is None or text.strip() == "auto":
        return default
    value, unit = split_length(text)
    if unit not in PX_PER_UNIT:
        raise ValueError(f'{name}="{text[:40]}" is not in a unit that can be read here')
    return value * PX_PER_UNIT[unit]


def numbers(text: str) -> list[float]:
    """A list of numbers separated by blanks or commas; raises ValueError for anything else in it."""
    if _NUMBERS.sub("", text).strip(" \t\r\n,"):
        raise ValueError(f'"{text[:40]}" is not a list of numbers')
    return [float(n) for n in _NUMBERS.findall(text)]


def combined(outer: Matrix, inner: Matrix) -> Matrix:
    """The matrix that applies `inner` first, then `outer`."""
    a, b, c, d, e, f = outer
    g, h, i, j, k, m = inner
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def placed(matrix: Matrix, point: tuple[float, float]) -> tuple[float, float]:
    """Where the matrix puts a point."""
    a, b, c, d, e, f = matrix
    return (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)


def _one_transform(name: str, v: list[float]) -> Matrix:
    match name, len(v):
        case "matrix", 6:
            return (v[0], v[1], v[2], v[3], v[4], v[5])
        case "translateX", 1:
            return (1.0, 0.0, 0.0, 1.0, v[0], 0.0)
        case "translateY", 1:
            return (1.0, 0.0, 0.0, 1.0, 0.0, v[0])
        case "translate", 1 | 2:
            return (1.0, 0.0, 0.0, 1.0, v[0], v[1] if len(v) == 2 else 0.0)
        case "scale", 1 | 2:
            return (v[0], 0.0, 0.0, v[-1], 0.0, 0.0)
        case "rotate", 1 | 3:
            cos, sin = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
            x, y = (v[1], v[2]) if len(v) == 3 else (0.0, 0.0)
            return (cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)
        case "scaleX", 1:
            return (v[0], 0.0, 0.0, 1.0, 0.0, 0.0)
        case "scaleY", 1:
            return (1.0, 0.0, 0.0, v[0], 0.0, 0.0)
        case "skewX", 1:
            return (1.0, 0.0, math.tan(math.radians(v[0])), 1.0, 0.0, 0.0)
        case "skewY", 1:
            return (1.0, math.tan(math.radians(v[0])), 0.0, 1.0, 0.0, 0.0)
    raise ValueError(f"{name} with {len(v)} numbers is no transform")


def transform(text: str) -> Matrix:
    """A transform attribute as one matrix (SVG 1.1, 7.6); raises ValueError."""
    text = _UNIT_WORDS.sub("", text)  # px and deg, which a style may write, are what numbers mean anyway
    result, position = IDENTITY, _end(_GAP.match(text))
    while position < len(text):
        match = _TRANSFORM.match(text, position)
        if match is None:
            raise ValueError(f'transform "{text[:60]}" cannot be read')
        result = combined(result, _one_transform(match[1], numbers(match[2])))
        position = _end(_GAP.match(text, match.end()))
    return result


def transform_about(text: str, origin: str) -> Matrix:
    """A transform about its origin (CSS Transforms 1, 5): two lengths in px; raises ValueError."""
    if text == "none":
        return IDENTITY
    words = ["0" if word in ("left", "top") else _UNIT_WORDS.sub("", word) for word in origin.split()]
    try:
        x, y = (float(word) for word in words[:2])
    except ValueError as fault:
        raise ValueError(f'transform-origin "{origin[:60]}" cannot be read') from fault
    there, back = (1.0, 0.0, 0.0, 1.0, x, y), (1.0, 0.0, 0.0, 1.0, -x, -y)
    return combined(combined(there, transform(text)), back)


def _end(match: re.Match[str] | None) -> int:
    return match.end() if match else 0


def view_matrix(
    box: list[float], size: tuple[float, float], aspect: str, place: tuple[float, float] = (0.0, 0.0)
) -> Matrix:
    """View box coordinates to a viewport of `size` at `place` (SVG 1.1, 7.7 and 7.8)."""
    x, y, width, height = box
    sx, sy = size[0] / width, size[1] / height
    words = aspect.split() or ["xMidYMid"]
    align = words[1] if words[0] == "defer" and len(words) > 1 else words[0]
    if align == "none":
        return (sx, 0.0, 0.0, sy, place[0] - x * sx, place[1] - y * sy)
    scale = max(sx, sy) if words[-1] == "slice" else min(sx, sy)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    left = share.get(align[1:4], 0.5) * (size[0] - width * scale)
    top = share.get(align[5:8], 0.5) * (size[1] - height * scale)
    return (scale, 0.0, 0.0, scale, place[0] + left - x * scale, place[1] + top - y * scale)
