"""Overlap relaxation: pieces laid over one another are moved apart until none overlaps.

Source of the method: "An open-source heuristic to reboot 2D nesting research", arXiv 2509.13329
(2025), which packs strips; here the leather is fixed and the number of pieces is what grows.
"""
