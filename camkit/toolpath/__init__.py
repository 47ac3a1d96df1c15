"""Ordered cuts: pockets, then holes, then openings, then outer profiles; entries, passes, tabs."""
