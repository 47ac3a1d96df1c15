"""The job (a 6 mm cutter, a 5 mm drill) and the parts, in sheet coordinates, that the judge is tried on."""

from __future__ import annotations

import tomllib
from typing import Any

from camkit.geometry.path import polygon, rectangle
from camkit.job.model import Job
from camkit.part import Hole, Part, Placed, Pocket

THICKNESS = 18.0
THROUGH = -18.3  # the sheet and the 0.3 that a through cut may go into the table
SHEET = (300.0, 200.0)
CORNERS = ((50.0, 50.0), (250.0, 50.0), (250.0, 150.0), (50.0, 150.0))

JOB = """
[sheet]
size = [300, 200]
measured_thickness = [18.0]

[machine]
{machine}

[[cutter]]
number = 1
diameter = 6.0
cutting_length = {cutting_length}
flutes = 2
speed = 18000
feed = 3600
plunge = 1200

[[cutter]]
number = 2
kind = "drill"
diameter = 5.0
cutting_length = 30.0
flutes = 2
speed = 12000
feed = 1200
plunge = 1200
"""


def job(machine: str = "", cutting_length: float = 25.0) -> Job:
    return Job.model_validate(tomllib.loads(JOB.format(machine=machine, cutting_length=cutting_length)))


def placed(*parts: Part) -> tuple[Placed, ...]:
    return tuple(Placed(part=part, shape=part) for part in parts)


def panel(**features: Any) -> Part:
    """A part of 200 x 100 in the middle of the sheet."""
    return Part("panel", polygon(CORNERS), **features)


POCKET = Pocket(rectangle(80, 80, 120, 110), 6.0)
BORED = Hole((200.0, 75.0), 8.0)
BLIND = Hole((220.0, 125.0), 10.0, 9.0)
DRILLED = (Hole((70.0, 70.0), 5.0), Hole((230.0, 60.0), 5.0))
OPENING = rectangle(150, 90, 170, 101)


def full_panel() -> Part:
    return panel(openings=(OPENING,), holes=(BORED, BLIND, *DRILLED), pockets=(POCKET,))
