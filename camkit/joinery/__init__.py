"""Parts as they must be cut: joints fitted to the measured sheet, corners relieved, dowel holes in."""
