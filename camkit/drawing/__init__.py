"""DXF and SVG in: parts, openings, holes and pockets, and findings about what was repaired or guessed."""
