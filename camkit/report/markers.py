"""Findings marked on a drawing: numbered discs beside their places."""

from __future__ import annotations

from camkit.geometry.path import Point
from camkit.report.numbered import Numbered
from camkit.report.palette import LEVELS
from camkit.report.paper import INK, Paper
from camkit.report.svg import lettering, number

__all__ = ["disc", "marker_spots", "markers"]


def marker_spots(paper: Paper, places: list[Point]) -> list[Point]:
    """A free spot on the page beside each place for its numbered disc; discs never overlap."""
    mm, spots = paper.mm, list[Point]()
    top, right = 3 * mm, paper.width - 3 * mm
    for place in places:
        px, py = paper.at(*place)
        tries = (
            (px + away * dx * mm, py + away * dy * mm)
            for away in (5.0, 9.0, 13.0, 18.0, 24.0, 31.0)
            for dx, dy in (
                (0.7, -0.7),
                (-0.7, -0.7),
                (0.7, 0.7),
                (-0.7, 0.7),
                (1, 0),
                (-1, 0),
                (0, -1),
                (0, 1),
            )
        )
        free = (
            (x, y)
            for x, y in tries
            if 3 * mm < x < right
            and y > top
            and all((x - a) ** 2 + (y - b) ** 2 > (4.6 * mm) ** 2 for a, b in spots)
        )
        spots.append(next(free, (px, py)))
    return spots


def markers(paper: Paper, rows: list[Numbered]) -> list[str]:
    """Numbered discs with a leader to the place of each finding."""
    mm = paper.mm
    placed = [(row, row.place) for row in rows if row.place is not None]
    drawn: list[str] = []
    for (row, place), (sx, sy) in zip(placed, marker_spots(paper, [p for _, p in placed]), strict=True):
        px, py = paper.at(*place)
        colour = LEVELS[row.finding.level]
        drawn.append(
            f'<path d="M{number(px)} {number(py)}L{number(sx)} {number(sy)}" stroke="{colour}" '
            f'stroke-width="{number(0.35 * mm)}"/>'
            f'<circle cx="{number(px)}" cy="{number(py)}" r="{number(0.7 * mm)}" fill="none" '
            f'stroke="{colour}" stroke-width="{number(0.35 * mm)}"/>'
        )
        drawn.append(disc(paper, sx, sy, row))
    return drawn


def disc(paper: Paper, x: float, y: float, row: Numbered) -> str:
    """The numbered disc of one finding: full for an error, ringed for the rest."""
    mm, colour = paper.mm, LEVELS[row.finding.level]
    fill, ink = (colour, "#ffffff") if row.finding.level == "error" else ("#ffffff", INK)
    return (
        f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(2 * mm)}" fill="{fill}" stroke="{colour}" '
        f'stroke-width="{number(0.5 * mm)}"/>'
        + lettering(x, y + 0.75 * mm, 2.1 * mm, str(row.number), anchor="middle", fill=ink)
    )
