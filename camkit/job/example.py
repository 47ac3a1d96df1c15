"""Commented job files of the reference page: the whole potting bench, and its sheets of two thicknesses."""

from __future__ import annotations

__all__ = ["EXAMPLE", "TWO_SHEETS"]

EXAMPLE = """\
title = "Potting bench"

[sheet]
size = [2440, 1220]
drawn_thickness = 18                            # what the drawing was made for
measured_thickness = [17.6, 17.7, 17.6, 17.5]   # readings; the mean is used
material = "birch plywood"
margin = 10                                     # kept free along the edges

[machine]
travel = [2500, 1300, 120]          # lengths from the sheet's corner, Z from 60 above its top; or ranges:
                                    # travel = [[-20, 2480], [-10, 1290], [-60, 60]] in sheet coordinates
direction = "climb"                 # "conventional" is safer on a light machine
safe_height = 15                    # above the sheet's top
rapid = [12000, 12000, 4000]        # mm/min
acceleration = [500, 500, 250]      # mm/s2
cutter_change = "stop"              # the program halts for a change by hand
zero = "sheet top"                  # where Z0 is touched off
into_table = 0.3                    # how far a through cut may go into the spoilboard

[[cutter]]
number = 1
kind = "compression spiral"
diameter = 6.0                      # measured
cutting_length = 25
flutes = 2
speed = 18000                       # rev/min
feed = 3600                         # mm/min, or text: "140 in/min"
plunge = 1200
pass_depth = 7
upcut_length = 6                    # its tip lifts chips; the first pass goes 1 deeper
finish_pass = 0.3                   # left on walls for one last pass at full depth; 0: none

[[cutter]]
number = 2
kind = "drill"
diameter = 4.5                      # for 4.0 screws

[drawings]
files = ["end-frame.dxf", "shelf.svg"]
unit = "mm"                         # overrules what the files say

[layers]                            # what the layers mean; the first pattern that matches counts
"outline*" = "profile"
"pocket*" = { pocket = 6.0 }        # depth
"blind*" = { hole = 10.0 }
"notes*" = "ignore"

[[part]]                            # without any row every part drawn is cut
name = "end frame, outer"
drawing = "end-frame.dxf"
at = [210, 400]                     # a point inside it, in the drawing

[[part]]
name = "end frame, inner"
drawing = "end-frame.dxf"
at = [640, 400]

[[part]]
name = "shelf"
drawing = "shelf.svg"
layer = "outline shelf"             # or: the layer that its outline lies on

[fit]
clearance = 0.15                    # what a joint is wider than the sheet, both sides together

[[joint]]                           # where recognition should not decide
tenon = "shelf"
mortise = "end frame, inner"

[[glue_up]]
name = "end frame"
layers = ["end frame, outer", "end frame, inner"]
dowel = 8
play = 0.1                          # holes are this much wider than the dowels

[layout]
mode = "as drawn"                   # the drawing is the sheet

[tabs]
width = 8
height = 3
spacing = 220

[hold_down]                         # screws in the waste: holes first, then a stop to fit them
screw = 4
head = 8
head_height = 4

[[keep_out]]                        # a clamp at the left edge, from corner to corner
kind = "clamp"
box = [0, 1150, 30, 1220]
height = 10
"""

# What the complete example has instead of [sheet], and more [[part]] rows.
TWO_SHEETS = """\
[[sheet]]
name = "birch 18"
size = [2440, 1220]
drawn_thickness = 18
measured_thickness = [17.6, 17.7, 17.6, 17.5]
material = "birch plywood"

[[sheet]]
name = "birch 12"
size = [1200, 600]
drawn_thickness = 12
measured_thickness = [11.8, 11.7, 11.8]
material = "birch plywood"

[[part]]
name = "back"
drawing = "end-frame.dxf"
at = [900, 400]
sheet = "birch 12"                  # or drawn_thickness = 12; without either it is the first sheet
"""
