"""Every tolerance of the house, in mm, each with the reason for its size."""

from __future__ import annotations

__all__ = [
    "ARC_AGAIN",
    "CHAIN",
    "CHAIN_LOUD",
    "FLATTEN",
    "GOUGE",
    "PATH_ALLOWANCE",
    "PROGRAM_DECIMALS",
    "RELIEF",
    "RIGHT_ANGLE",
    "SAME_POINT",
    "UNCUT",
]

# Two ends of a chain are one point: published line soup is that loose; a larger gap is a real gap.
CHAIN = 0.01
# Up to here a gap is closed with a warning; beyond it, it may be meant, and the outline stays open.
CHAIN_LOUD = 0.5
# How far an arc may lie off the short lines that it is recognised in, vertices and chords together: as much
# as offsetting allows for, and above the noise of drawings that are written in thousandths of a millimetre.
ARC_AGAIN = 0.005
# Chord error when curves are flattened before offsetting: well under the judge's limit.
FLATTEN = 0.002
# Paths are offset wider by this much, so that flattening and rounding never bite into a part.
PATH_ALLOWANCE = 0.005
# Three decimals can break the 0.002 mm arc rule of NISTIR 6556 section 3.5.3; four cannot.
PROGRAM_DECIMALS = 4
# The judge calls it a gouge from here: a part is toleranced at 0.1 and more, smaller is rounding.
GOUGE = 0.02
# The judge calls it uncut from here, beyond what a round cutter can reach.
UNCUT = 0.05
# A relief is made for a cutter larger in radius by this much: the path runs PATH_ALLOWANCE outside the wall
# and a cutter may measure a few hundredths over, yet it must still turn freely in there.
RELIEF = 0.05
# An opening is rectangular when no corner is out of square by more than this over its walls.
RIGHT_ANGLE = 0.01
# Joined segments of a path must meet this closely; double precision at 10 m leaves far less.
SAME_POINT = 1e-6
