"""Shapes and comparisons that several tests share."""
