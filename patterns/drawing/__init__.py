"""Drawings in millimetres, and the two writers of them: SVG and PDF."""
