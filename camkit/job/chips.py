"""Chips in plywood: how thick a cutter should make them, and the feeds that follow. Lengths in mm.

Chip load is feed / (speed x flutes), the way that the work moves on from one edge to the next.
"""

from __future__ import annotations

import math
from itertools import pairwise

__all__ = [
    "DEEPEST_SLOT",
    "DRILL_SPEED",
    "GENTLE_CHIP",
    "MILLING_SPEED",
    "PLUNGE_SHARE",
    "RUBBING_CHIP",
    "chip_range",
    "depth_share",
    "drill_feed",
    "engaged_deg",
    "mean_chip_share",
    "milling_feed",
    "plunge_feed",
    "thickest_chip_share",
]

# Solid-carbide spirals in plywood, passes one diameter deep: diameter, thinnest and thickest chip, from
# asttooling.com/pages/speeds-and-feeds-charts (0.003 to 0.005 in at 1/8 in, 0.006 to 0.009 at 1/4 in, 0.015
# to 0.018 at 3/8 in, 0.018 to 0.021 at 1/2 in). Straight lines between them, and down to nothing at 0.
_CHART = (
    (0.0, 0.0, 0.0),
    (3.175, 0.076, 0.127),
    (6.35, 0.152, 0.229),
    (9.525, 0.381, 0.457),
    (12.7, 0.457, 0.533),
)
# The same chart: a quarter less in passes of 2 diameters, half in passes of 3. It knows no deeper ones.
_DEPTHS = ((1.0, 1.0), (2.0, 0.75), (3.0, 0.5))
DEEPEST_SLOT = 3.0
# General routing takes chips of 0.1 to 0.2 (familywoodworking.org, router bit brand selection): where the
# chart, made for heavy machines, asks for more than the lower figure, that is enough.
GENTLE_CHIP = 0.1
# Thinner chips rub, burn and may set the dust alight (common practice, no source).
RUBBING_CHIP = 0.05
# Usual speed of router spindles (common practice; the chart's own starting values are for 18,000).
MILLING_SPEED = 18000.0
# Drills burn at a router's speed (common practice, no source).
DRILL_SPEED = 6000.0
# Straight down at no more than this share of the feed (common practice, no source).
PLUNGE_SHARE = 1 / 3
# A drill's chip, and its fastest feed on a light machine (common practice, no source).
_DRILL_CHIP = 0.075
_DRILL_FEED = 900.0


def depth_share(depth: float, diameter: float) -> float:
    """What a pass of this depth leaves of the chart's chips: 1 up to one diameter, 0.5 from three on."""
    ratio = depth / diameter
    for (a, share_a), (b, share_b) in pairwise(_DEPTHS):
        if ratio < b:
            return share_a + (share_b - share_a) * max(0.0, ratio - a) / (b - a)
    return _DEPTHS[-1][1]


def chip_range(diameter: float, depth: float) -> tuple[float, float]:
    """Thinnest and thickest chip (mm an edge) of the chart for plywood in passes of `depth` mm.

    Larger cutters than 1/2 in are given its last figures.
    """
    share = depth_share(depth, diameter)
    for (a, low_a, high_a), (b, low_b, high_b) in pairwise(_CHART):
        if diameter <= b:
            way = (diameter - a) / (b - a)
            return share * (low_a + (low_b - low_a) * way), share * (high_a + (high_b - high_a) * way)
    return share * _CHART[-1][1], share * _CHART[-1][2]


def milling_feed(diameter: float, depth: float, flutes: int, speed: float) -> float:
    """Feed in mm/min, vf = n z fz, to whole tens: fz is the chart's thinnest chip, at most GENTLE_CHIP."""
    chip = min(chip_range(diameter, depth)[0], GENTLE_CHIP)
    return _whole_tens(speed * flutes * chip)


def drill_feed(flutes: int, speed: float) -> float:
    """Feed of a drill straight down in mm/min, to whole tens: 0.075 an edge, at most 900."""
    return min(_DRILL_FEED, _whole_tens(speed * flutes * _DRILL_CHIP))


def plunge_feed(feed: float) -> float:
    """Feed straight down of a milling cutter in mm/min, to whole tens: at most a third of its feed."""
    return _whole_tens(feed * PLUNGE_SHARE)


def _whole_tens(feed: float) -> float:
    """The whole tens below a feed; a feed below 10 as it is."""
    return feed if feed < 10 else math.floor(feed / 10 + 1e-6) * 10.0


def engaged_deg(width_share: float) -> float:
    """Angle over which an edge is in the wood, side cut `width_share` of the diameter wide (above 0 to 1).

    cos phi = 1 - 2 ae / D, in degrees: 180 in a slot.
    """
    return math.degrees(math.acos(1 - 2 * width_share))


def thickest_chip_share(width_share: float) -> float:
    """Thickest chip over chip load: sin phi = 2 sqrt(ae/D - (ae/D)^2) up to half the diameter, then 1."""
    if width_share >= 0.5:
        return 1.0
    return 2 * math.sqrt(width_share - width_share**2)


def mean_chip_share(width_share: float) -> float:
    """Mean chip over chip load: 2 ae / (D phi) with phi in radians, 0.637 in a slot."""
    return 2 * width_share / math.radians(engaged_deg(width_share))
