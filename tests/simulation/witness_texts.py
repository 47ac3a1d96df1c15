"""Whole programs written out by hand: a disc in inches with expressions, and a ring in lower case."""

from __future__ import annotations

import math

from camkit.geometry.path import circle
from camkit.job.model import Job
from camkit.part import Part
from camkit.simulation.verdict import Judgement

from .witness_scenes import THROUGH
from .witness_verdicts import judged

DISC_IN_INCHES = """%
(DISC OF 2 IN, CENTRE 2 2, CUTTER 1/4 IN)
N10 G20 G17 G90 G40 G49 G94
N20 T1 M6
N30 S18000 M3
N40 #1=1.125 (RADIUS OF THE CENTRE'S PATH)
N50 G0 Z.6
N60 G0 X[2+#1] Y2
N70 G0 Z.1
N80 G1 Z-.25 F40
N90 G2 X[2+#1] Y2 I[0-#1] J0 F140
N100 G1 Z-.4 F40 (A TENTH STAYS FOR THE TABS)
N110 G2 X[2+#1] Y2 I[0-#1] J0 F140
N120 G1 Z-.51 F40
N130 G2 X[2+#1*COS[-80]] Y[2+#1*SIN[-80]] I[0-#1] J0 F140
N140 G0 Z-.3
N150 G2 X[2+#1*COS[-100]] Y[2+#1*SIN[-100]] R#1
N160 G1 Z-.51 F40
N170 G2 X[2+#1*COS[-200]] Y[2+#1*SIN[-200]] R#1 F140
N180 G0 Z-.3
N190 G2 X[2+#1*COS[-220]] Y[2+#1*SIN[-220]] R#1
N200 G1 Z-.51 F40
N210 G2 X[2+#1*COS[-320]] Y[2+#1*SIN[-320]] R#1 F140
N220 G0 Z-.3
N230 G2 X[2+#1*COS[-340]] Y[2+#1*SIN[-340]] R#1
N240 G1 Z-.51 F40
N250 G2 X[2+#1] Y2 R#1 F140
N260 G0 Z.6
N270 M30
%
"""

INCH_JOB = Job.model_validate(
    {
        "sheet": {"size": [101.6, 101.6], "measured_thickness": [12.7]},
        "cutter": [{"number": 1, "diameter": 6.35, "cutting_length": 22.0, "feed": 3556.0, "plunge": 1016.0}],
    }
)


def disc_text(**lines: str) -> str:
    """The disc's program, some numbered lines replaced."""
    rows = []
    for row in DISC_IN_INCHES.splitlines():
        label = row.split(" ", 1)[0]
        rows.append(f"{label} {lines[label]}" if label in lines else row)
    return "\n".join(rows) + "\n"


def disc_judged(text: str) -> Judgement:
    disc = Part("disc", circle((50.8, 50.8), 50.8))
    return judged(text, disc, INCH_JOB, (101.6, 101.6), 12.7)


def line_of(text: str, label: str) -> int:
    return next(n for n, row in enumerate(text.splitlines(), 1) if row.startswith(label + " "))


RING = """
g21 g17 g90 g94 (ring of 120, opening of 30 milled away from the middle)
t1 m6
m3 s18000
g0 z15
g0 x150 y100
g0 z2
{inside}
g0 z15
g0 x213 y100
g0 z2
g1 z-6 f1200
g2 x87 y100 i-63 j0 f3600
g2 x213 y100 i63 j0
g1 z-12 f1200
g2 x87 y100 i-63 f3600
g2 x213 y100 i63
g1 z-18.3 f1200
g2 x150 y37 r63 f3600
g2 x{ax} y{ay} r63
g0 z-15
g2 x{bx} y{by} r63
g1 z-18.3 f1200
g2 x87 y100 r63 f3600
g2 x150 y163 r63
g2 x{cx} y{cy} r63
g0 z-15
g2 x{dx} y{dy} r63
g1 z-18.3 f1200
g2 x213 y100 r63 f3600
g0 z15
m5
m30
"""


def ring_text() -> str:
    inside = []
    for z in (-6, -12, THROUGH):
        inside.append(f"g1 z{z} f1200")
        for r in (2, 6, 10, 12):
            inside += [f"g1 x{150 + r} f3600", f"g3 x{150 - r} i-{r} j0", f"g3 x{150 + r} i{r} j0"]
        inside.append("g1 x150")

    def place(angle: float) -> tuple[str, str]:
        a = math.radians(angle)
        return f"{150 + 63 * math.cos(a):.4f}", f"{100 + 63 * math.sin(a):.4f}"

    (ax, ay), (bx, by), (cx, cy), (dx, dy) = (place(a) for a in (-129, -141, 51, 39))
    return RING.format(inside="\n".join(inside), ax=ax, ay=ay, bx=bx, by=by, cx=cx, cy=cy, dx=dx, dy=dy)
