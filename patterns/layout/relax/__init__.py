"""Overlap relaxation: pieces laid over one another are moved apart until none overlaps.

All pieces settle together down the slopes of their pressure on one another (`settle.py`); from
there single ones are laid elsewhere or exchanged, and all settle anew (`separate.py`).

Source of the method: Imamichi, Yagiura, Nagamochi, "An iterated local search algorithm based on
nonlinear programming for the irregular strip packing problem", Discrete Optimization 6 (2009),
345-361, which packs strips; here the leather is fixed, pieces turn as well, and the number of
pieces is what grows. That single pieces are taken to the best of many places looked at, from
"An open-source heuristic to reboot 2D nesting research", arXiv 2509.13329 (2025).
"""
