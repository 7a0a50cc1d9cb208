"""Foot meshes: read from files, checked, turned upright, cut by planes and measured.

`patterns.mesh_in` is the face other packages use.
"""
