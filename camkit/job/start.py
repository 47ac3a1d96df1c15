"""The text of a job file to begin with, filled in from drawings and marked where the maker must measure."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Protocol

from camkit.job.machine import Cutter
from camkit.job.model import Job
from camkit.part import LayerRule, Part, layer_pattern

__all__ = ["Drawing", "starting_job"]


class Drawing(Protocol):
    """What is known of a drawing that was read: its file as the job shall name it, unit and parts."""

    @property
    def path(self) -> str:
        """The file's name, as it is seen from the job file."""

    @property
    def unit(self) -> str:
        """The unit it was read in."""

    @property
    def unit_from(self) -> str:
        """Who said so: "header", "given" or "guessed"."""

    @property
    def parts(self) -> tuple[Part, ...]:
        """Its parts, in mm."""

    @property
    def offers(self) -> tuple[LayerRule, ...]:
        """Meanings that the names of its layers speak of."""


def starting_job(title: str, drawings: Sequence[Drawing]) -> str:
    """Text of a commented job file for `drawings`, ending with a line feed.

    The measured thickness stands in a comment: nobody but the maker knows it, and loading the text says so
    until readings are written. Lines marked MEASURE or CHECK are the maker's to settle.
    """
    paragraphs = [
        _head(title),
        _sheet(drawings),
        _machine(),
        _cutter(),
        _drawings(drawings),
        _layers(drawings),
        *_parts(drawings),
        _rest(),
    ]
    return "\n\n".join(paragraphs) + "\n"


_UNIT_FROM = {"header": "the file says so", "given": "as given"}


def _text(text: str) -> str:
    """The text as a TOML string; signs that no job file takes become spaces."""
    return json.dumps("".join(sign if sign.isprintable() else " " for sign in text), ensure_ascii=False)


def _number(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _head(title: str) -> str:
    return f"""\
# A job file to begin with. Lines that say MEASURE or CHECK are yours to settle; a line that begins
# with "#" does nothing until that sign is taken away. Lengths are mm, or text with a unit: "3/4 in".

title = {_text(title)}"""


def _sheet(drawings: Sequence[Drawing]) -> str:
    every = [part.bounds() for drawing in drawings for part in drawing.parts]
    extent = ""
    if len(drawings) == 1 and every:
        width = max(box[2] for box in every) - min(box[0] for box in every)
        depth = max(box[3] for box in every) - min(box[1] for box in every)
        extent = f"\n# (the parts drawn cover {_number(width)} x {_number(depth)})"
    return f"""\
[sheet]
# MEASURE the thickness with a calliper, 50 mm in from the edges and where tenons will lie: three readings
# at least, eight are better. Write them in place of these and take the "#" away:
# measured_thickness = [17.6, 17.7, 17.6]
# CHECK the thickness that the drawing was made for; without it no joint is re-fitted to the sheet:
# drawn_thickness = 18
# CHECK length and width; without them the sheet is as large as the drawing and its margins:{extent}
# size = [2440, 1220]
material = "plywood"   # CHECK
# Parts of another thickness, too? Write [[sheet]] in place of [sheet], one for each, and give each a name;
# the [[part]] rows of the others then say under sheet which it is."""


def _machine() -> str:
    return """\
[machine]
# CHECK what your machine reaches along X, Y and Z from the sheet's corner; without it reach is not judged:
# travel = [2500, 1300, 120]
direction = "climb"        # CHECK: "conventional" is safer on a light machine
cutter_change = "stop"     # the program halts for a change by hand
zero = "sheet top"         # CHECK where Z0 is touched off: "sheet top" or "table\""""


def _cutter() -> str:
    cutter = Cutter(number=1, diameter=6.0)
    chip, deep = _number(cutter.feed / cutter.speed / cutter.flutes), _number(cutter.depth_of_pass)
    return f"""\
[[cutter]]                 # one such table for every cutter on hand
number = 1
kind = "straight"          # CHECK: straight, upcut spiral, downcut spiral, compression spiral or drill
diameter = {cutter.diameter:.1f}             # MEASURE: what it cuts, not what its box says
# cutting_length = 25      # MEASURE the length of its edges; without it depth is not checked
flutes = {cutter.flutes}                 # CHECK
# CHECK the rest; not written, it is worked out from the lines above as shown (feeds in mm/min):
# speed = {_number(cutter.speed)}            # rev/min
# feed = {_number(cutter.feed)}              # each edge takes {chip}
# plunge = {_number(cutter.plunge)}            # a third of the feed
# pass_depth = {deep}           # deepest single pass: the cutter's diameter"""


def _drawings(drawings: Sequence[Drawing]) -> str:
    files = ", ".join(_text(drawing.path) for drawing in drawings)
    rows = ["[drawings]", f"files = [{files}]" if drawings else '# files = ["end-frame.dxf"]']
    given = {drawing.unit for drawing in drawings if drawing.unit_from == "given"}
    for drawing in drawings:
        origin = {"header": "the file says so", "given": "as given"}.get(
            drawing.unit_from, "guessed: CHECK a size"
        )
        rows.append(f"# {_text(drawing.path)} was read in {drawing.unit}, {origin}")
    if len(given) == 1 and len(drawings) == sum(drawing.unit_from == "given" for drawing in drawings):
        rows.append(f"unit = {_text(given.pop())}")
    else:
        rows.append('# unit = "mm"              # overrules what the files say: mm, cm or inch')
    return "\n".join(rows)


def _layers(drawings: Sequence[Drawing]) -> str:
    names = dict.fromkeys(part.source.layer for drawing in drawings for part in drawing.parts)
    rows = [
        "[layers]",
        "# CHECK what the layers mean: profile, opening, hole, sheet edge, ignore, or a depth. Letter case",
        "# is ignored, the first pattern that matches counts; without one a layer goes by nesting.",
    ]
    offers = {rule.pattern: rule for drawing in drawings for rule in drawing.offers}
    rows += [f"# {rule.line}   # CHECK: read from the layer's name" for rule in offers.values()]
    plain = (layer_pattern(name) for name in names if name)
    rows += [f"# {LayerRule(name, 'profile').line}" for name in plain if name not in offers]
    rows += ['# "pocket*" = { pocket = 6.0 }', '# "blind*" = { hole = 10.0 }', '# "notes*" = "ignore"']
    return "\n".join(rows)


def _parts(drawings: Sequence[Drawing]) -> list[str]:
    """One [[part]] row a part, each under a name of its own."""
    rows: list[str] = []
    taken: set[str] = set()
    for drawing in drawings:
        for part in drawing.parts:
            name = _own_name(part.name, taken)
            x0, y0, x1, y1 = part.bounds()
            x, y = part.spot()
            row = ["[[part]]", f"name = {_text(name)}   # {_number(x1 - x0)} x {_number(y1 - y0)}"]
            if len(drawings) > 1:
                row.append(f"drawing = {_text(drawing.path)}")
            row.append(f"at = [{_number(x)}, {_number(y)}]   # a point inside it, in the drawing, in mm")
            rows.append("\n".join(row))
    if rows:
        rows[0] = (
            "# The parts to cut: give them the names that you use, take away what is not cut.\n\n" + rows[0]
        )
    return rows


def _own_name(drawn: str, taken: set[str]) -> str:
    """The drawn name, or that name with a number when another part has it."""
    plain = "".join(sign if sign.isprintable() else " " for sign in drawn).strip() or "part"
    name, number = plain, 1
    while name.casefold() in taken:
        number += 1
        name = f"{plain} {number}"
    taken.add(name.casefold())
    return name


def _rest() -> str:
    fit, tabs = Job.model_fields["fit"].default, Job.model_fields["tabs"].default
    return f"""\
[fit]
clearance = {_number(fit.clearance)}           # CHECK on a scrap: a joint is this much wider than the sheet;
                           # camkit coupon cuts a test piece that measures it

# Layers that are glued face to face, and the dowels that keep them in line:
# [[glue_up]]
# name = "end frame"
# layers = ["end frame, outer", "end frame, inner"]
# dowel = 8

[tabs]
width = {_number(tabs.width)}                  # length of a tab along the outline
height = {_number(tabs.height)}                 # wood left above the table
spacing = {_number(tabs.spacing)}              # about this far apart"""
