"""Plain plane geometry in mm: paths of lines and arcs, regions, offsets, flattening."""
