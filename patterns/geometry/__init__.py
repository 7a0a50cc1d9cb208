"""Shapes that know nothing of boots."""
