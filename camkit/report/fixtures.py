"""Clamps, pods and screws as lines on the sheet. Lengths in mm."""

from __future__ import annotations

from camkit.cut import Cut
from camkit.geometry.path import Point, circle, rectangle
from camkit.job.fixtures import KeepOut
from camkit.pipeline import Result
from camkit.report.svg import number, path_data

__all__ = ["fixture_lines"]


def fixture_lines(result: Result, sheet: int) -> str:
    """Path data of all that holds the sheet of that number: outlines, each crossed out; "" where nothing is.

    Hold-down screws stand where cuts drill for them, else where the job gives their places.
    """
    data = "".join(_keep_out(row) for row in result.job.keep_out)
    hold = result.job.hold_down
    if hold is not None:
        drilled = [_middle(cut) for cut in result.cuts if (cut.kind, cut.sheet) == ("hold-down", sheet)]
        data += "".join(_round(place, hold.head) for place in drilled or hold.places)
    return data


def _middle(cut: Cut) -> Point:
    xs, ys = [move.x for move in cut.moves], [move.y for move in cut.moves]
    return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)


def _keep_out(row: KeepOut) -> str:
    if row.box is None:
        return _round(row.at or (0.0, 0.0), row.diameter or 0.0)
    x0, y0, x1, y1 = row.box
    return path_data(rectangle(x0, y0, x1, y1)) + _cross(x0, y0, x1, y1)


def _round(place: Point, wide: float) -> str:
    (x, y), arm = place, wide / 2 * 0.5**0.5
    return path_data(circle(place, wide)) + _cross(x - arm, y - arm, x + arm, y + arm)


def _cross(x0: float, y0: float, x1: float, y1: float) -> str:
    return (
        f"M{number(x0)} {number(y0)}L{number(x1)} {number(y1)}M{number(x0)} {number(y1)}"
        f"L{number(x1)} {number(y0)}"
    )
