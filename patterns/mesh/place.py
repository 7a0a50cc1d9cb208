"""Whether a mesh lies where the foot's frame puts it."""

import numpy as np

from patterns.mesh.foot_mesh import FootMesh, mesh_fault

PLACE_TOLERANCE = 0.03  # of foot length: how far heel and ground may lie from x=0 and z=0
LENGTH_TOLERANCE = 0.05  # of foot length: a mesh further off is in another unit or another foot


def check_mesh_place(mesh: FootMesh, foot_length_mm: float) -> None:
    """Raise FootError unless heel, toe and ground of the mesh lie where the frame puts them."""
    points = mesh.points_mm
    foot = points[points[:, 2] < points[:, 2].min() + 0.3 * foot_length_mm]
    heel, length, ground = foot[:, 0].min(), np.ptp(foot[:, 0]), points[:, 2].min()
    if abs(length / foot_length_mm - 1) > LENGTH_TOLERANCE:
        raise mesh_fault(
            "mesh-scale",
            f"is {length:.1f} mm long but the foot length {foot_length_mm:g} mm; check mesh_unit",
        )
    slack = PLACE_TOLERANCE * foot_length_mm
    if abs(heel) > slack or abs(ground) > slack:
        raise mesh_fault(
            "mesh-place",
            f"has its heel at x = {heel:.1f} and its lowest point at z = {ground:.1f} mm; move it"
            " so that the heel touches x = 0 and the sole z = 0",
        )
    if points[:, 2].max() < 0.35 * foot_length_mm:
        raise mesh_fault("mesh-low", "ends below the ankle; leave the leg on as high as the boot")
