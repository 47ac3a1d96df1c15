"""camkit turns part outlines and a measured plywood sheet into a judged router program.

The way through the house runs from left to right and nothing runs back:
drawing, part, joinery, layout, toolpath, program, simulation, report.
"""

__version__ = "0.1.0"
