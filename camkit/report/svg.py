"""Pieces of SVG text: numbers, paths in sheet coordinates, lettering."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from camkit.geometry.path import Arc, Path, Point, Segment, arc_sweep

__all__ = ["FONT", "joined_path", "lettering", "number", "path_data", "plain", "wrapped"]

FONT = "DejaVu Sans"
_HALF_TURN = 3.141592


def number(value: float) -> str:
    """A length with at most three decimals and no needless zeros."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def path_data(path: Path) -> str:
    """The `d` of one path with Y upwards (its group turns the picture over), arcs kept as arcs."""
    return joined_path(path.segments) + ("Z" if path.closed else "")


def joined_path(segments: Iterable[Segment]) -> str:
    """The `d` of segments; a new subpath begins where one does not start at the last one's end."""
    words: list[str] = []
    at: Point | None = None
    for segment in segments:
        if at is None or segment.start != at:
            words.append(f"M{_point(segment.start)}")
        if isinstance(segment, Arc):
            # With Y upwards inside the turned-over group, sweep flag 1 runs counter-clockwise.
            large, sweep = int(arc_sweep(segment) > _HALF_TURN), int(not segment.clockwise)
            r = number(segment.radius)
            words.append(f"A{r} {r} 0 {large} {sweep} {_point(segment.end)}")
        else:
            words.append(f"L{_point(segment.end)}")
        at = segment.end
    return "".join(words)


def lettering(
    x: float,
    y: float,
    size: float,
    text: str,
    *,
    anchor: str = "start",
    fill: str = "#1f2a33",
    extra: str = "",
) -> str:
    """A line of text with its baseline at (x, y), Y downwards."""
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-size="{number(size)}" text-anchor="{anchor}" '
        f'fill="{fill}"{" " + extra if extra else ""}>{plain(text)}</text>'
    )


def plain(text: str) -> str:
    """Text as XML 1.0 takes it (section 2.2): signs escaped, control characters left out."""
    return escape("".join(sign for sign in text if sign >= " " and sign not in "\ufffe\uffff"))


def wrapped(text: str, letters: int) -> list[str]:
    """The text in lines of at most about `letters`, broken at spaces; long words stay whole."""
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > letters:
            lines.append(word)
        else:
            lines[-1] = f"{lines[-1]} {word}".lstrip()
    return lines


def _point(point: Point) -> str:
    return f"{number(point[0])} {number(point[1])}"
