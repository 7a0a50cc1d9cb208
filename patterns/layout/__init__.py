"""Laying pieces out on hides: the search, and the exact check of what it found."""
