"""The shadows of a mesh: as large as the mesh, whatever it is made of, and quick for large ones."""

import numpy as np
import pytest
import shapely

from patterns.drawing.mesh import draw_mesh, shadow_of
from patterns.mesh_in import mesh_side_shadow
from tests.patterns.samples_feet import mesh_foot


def test_the_shadow_of_a_box_with_a_hollow_is_its_outline():
    # Two bars one over the other, joined at one end: a shadow with a bay in it.
    parts = [shapely.box(0, 0, 30, 5), shapely.box(0, 5, 6, 15), shapely.box(0, 15, 30, 20)]
    triangles = [
        [corners[i] for i in ids]
        for part in parts
        for corners in [list(part.exterior.coords)[:4]]
        for ids in ((0, 1, 2), (0, 2, 3))
    ]
    outline = shapely.Polygon(shadow_of(np.array(triangles)))
    wanted = shapely.union_all(parts)
    assert outline.symmetric_difference(wanted).area < 0.01 * wanted.area


def test_the_side_shadow_is_that_of_all_triangles_joined_one_by_one():
    foot = mesh_foot()
    quick = shapely.Polygon(shadow_of(foot.mesh.corners_mm[:, :, [0, 2]]))
    slow = shapely.Polygon(mesh_side_shadow(foot.mesh))
    assert quick.is_valid
    assert quick.symmetric_difference(slow).area < 0.005 * slow.area


def test_a_mesh_is_drawn_with_its_length_and_height():
    foot = mesh_foot()
    texts = [words.text for words in draw_mesh(foot.mesh, foot.foot_length_mm).words]
    high = float(np.ptp(foot.mesh.points_mm[:, 2]))
    assert any(text.startswith("75.0 mm long") for text in texts)
    assert f"{high:.1f} mm high" in texts


@pytest.mark.parametrize("turned", [False, True])
def test_which_way_the_rows_run_changes_no_outline(turned):
    triangle = np.array([[[0.0, 0.0], [40.0, 0.0], [0.0, 10.0]]])
    given = triangle[:, :, ::-1] if turned else triangle
    assert shapely.Polygon(shadow_of(given)).area == pytest.approx(200.0, rel=0.01)


def test_what_is_seen_edge_on_casts_no_shadow():
    assert shadow_of(np.array([[[0.0, 0.0], [40.0, 0.0], [20.0, 0.0]]])) == ()
