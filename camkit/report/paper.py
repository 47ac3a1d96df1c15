"""The paper a picture is drawn on: its scale, and the furniture that needs one (rulers, scale bar)."""

from __future__ import annotations

from dataclasses import dataclass

from camkit.geometry.path import Point
from camkit.report.svg import FONT, lettering, number, plain

__all__ = [
    "FAINT",
    "INK",
    "MARK",
    "Paper",
    "paper_for",
    "rulers",
    "scale_bar",
    "scale_bar_length",
    "svg_document",
]

INK = "#1f2a33"
FAINT = "#7d7a70"
# Any picture of ours carries this, so that nobody else's file is ever overwritten.
MARK = "drawn by camkit"
_SCALES = (0.2, 0.5, 1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0)
# A4 lying, margins off, leaves this much for the sheet itself, in mm of paper.
_ROOM = (250.0, 165.0)
_LEAST_WIDTH = 180.0


@dataclass(frozen=True, slots=True)
class Paper:
    """Lengths on paper in mm of the workpiece: `mm` is one millimetre of paper at this scale."""

    mm: float
    left: float
    top: float
    extent: tuple[float, float, float, float]

    def at(self, x: float, y: float) -> Point:
        """Where a point of the workpiece lies on the page (Y downwards)."""
        x0, _, _, y1 = self.extent
        return (self.left + x - x0, self.top + y1 - y)

    def workpiece(self, x: float, y: float) -> Point:
        """Which point of the workpiece lies at a place of the page: the way back from `at`."""
        x0, _, _, y1 = self.extent
        return (x - self.left + x0, self.top + y1 - y)

    def holds(self, place: Point) -> bool:
        """Whether a place of the page lies in the drawing's extent, its rim included."""
        slack = self.mm / 100
        x0, _, x1, _ = self.extent
        inside = self.left - slack <= place[0] <= self.left + x1 - x0 + slack
        return inside and self.top - slack <= place[1] <= self.bottom + slack

    @property
    def width(self) -> float:
        """Of the whole page."""
        return max(self.extent[2] - self.extent[0], _LEAST_WIDTH * self.mm) + self.left + 8 * self.mm

    @property
    def bottom(self) -> float:
        """Where the drawing ends on the page."""
        return self.top + self.extent[3] - self.extent[1]

    @property
    def turned_over(self) -> str:
        """Transform of the group that is drawn in workpiece coordinates."""
        x0, _, _, y1 = self.extent
        return f"translate({number(self.left - x0)} {number(self.top + y1)}) scale(1 -1)"


def paper_for(extent: tuple[float, float, float, float]) -> Paper:
    """The largest of the usual drawing scales at which the extent fits a lying A4."""
    x0, y0, x1, y1 = extent
    mm = next((s for s in _SCALES if x1 - x0 <= _ROOM[0] * s and y1 - y0 <= _ROOM[1] * s), _SCALES[-1])
    return Paper(mm, 14 * mm, 17 * mm, extent)


def svg_document(paper: Paper, height: float, body: list[str], title: str) -> str:
    """The finished picture; printed at its own size it is to scale."""
    wide, high, mm = number(paper.width), number(height), paper.mm
    root = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(paper.width / mm)}mm" '
        f'height="{number(height / mm)}mm" viewBox="0 0 {wide} {high}" font-family="{FONT}, sans-serif">'
    )
    ground = f'<rect width="{wide}" height="{high}" fill="#fdfcf8"/>'
    return "\n".join((root, f"<!-- {MARK} -->", f"<title>{plain(title)}</title>", ground, *body, "</svg>\n"))


def _ruler_step(mm: float) -> float:
    """A round length that takes about 10 mm of paper."""
    return next(
        s for s in (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0) if s >= 9 * mm or s == 1000
    )


def rulers(paper: Paper) -> list[str]:
    """Ticks and numbers in mm along the lower and the left edge."""
    mm, (x0, y0, x1, y1) = paper.mm, paper.extent
    step = _ruler_step(mm)
    rows: list[str] = []
    ticks: list[str] = []
    for along in (0, 1):
        low, high = (x0, x1) if along == 0 else (y0, y1)
        for count in range(int(-(-low // step)), int(high // step) + 1):
            place = count * step
            px, py = paper.at(place, y0) if along == 0 else paper.at(x0, place)
            long = 2.2 if count % 5 == 0 else 1.2
            px, py = (px, py + 1.5 * mm) if along == 0 else (px - 1.5 * mm, py)
            ticks.append(
                f"M{number(px)} {number(py)}"
                + (f"v{number(long * mm)}" if along == 0 else f"h{number(-long * mm)}")
            )
            if count % 5 == 0:
                text, size = f"{place:g}", 2.1 * mm
                rows.append(
                    lettering(px, py + 4.8 * mm, size, text, anchor="middle", fill=FAINT)
                    if along == 0
                    else lettering(px - 2.8 * mm, py + 0.75 * mm, size, text, anchor="end", fill=FAINT)
                )
    return [
        f'<path d="{"".join(ticks)}" stroke="{FAINT}" stroke-width="{number(0.18 * mm)}" fill="none"/>',
        *rows,
    ]


def scale_bar_length(paper: Paper) -> float:
    """Length of the scale bar."""
    return 5 * _ruler_step(paper.mm)


def scale_bar(paper: Paper, x: float, y: float) -> list[str]:
    """A bar of a round length with its right end at x, its foot at y."""
    mm, long = paper.mm, scale_bar_length(paper)
    height, fifth = 1.2 * mm, long / 5
    left = x - long
    cells = "".join(
        f'<rect x="{number(left + k * fifth)}" y="{number(y - height)}" width="{number(fifth)}" '
        f'height="{number(height)}" fill="{INK if k % 2 == 0 else "#fdfcf8"}" stroke="{INK}" '
        f'stroke-width="{number(0.15 * mm)}"/>'
        for k in range(5)
    )
    scale = f"1 : {mm:g}" if mm >= 1 else f"{1 / mm:g} : 1"
    return [
        cells,
        lettering(left, y - 2 * mm, 2.1 * mm, "0", anchor="middle"),
        lettering(x, y - 2 * mm, 2.1 * mm, f"{long:g} mm", anchor="end"),
        lettering((left + x) / 2, y - 2 * mm, 2.1 * mm, scale, anchor="middle", fill=FAINT),
    ]
