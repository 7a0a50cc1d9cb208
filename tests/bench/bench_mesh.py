"""How long meshes of 200,000 triangles take to read, check and turn into a last, and the memory.

Run ``python tests/bench/bench_mesh.py``; prints one row a step. Every file is read in a process of
its own, so that the memory shown is that of one mesh.
"""

import multiprocessing
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402

from patterns.foot import Foot  # noqa: E402
from patterns.last.build import last_from_measures  # noqa: E402
from patterns.last.cards import card_sections  # noqa: E402
from patterns.last.from_mesh import last_from_mesh  # noqa: E402
from patterns.last.solid import closed_triangles, last_obj, last_stl  # noqa: E402
from patterns.mesh_in import (  # noqa: E402
    FootMesh,
    check_mesh,
    measure_mesh,
    read_mesh,
    recognise,
    section_hull,
)
from tests.samples_meshes import (  # noqa: E402
    leg_mesh,
    obj_bytes,
    ply_bytes,
    sample_mesh,
    stl_bytes,
    stl_text,
)

LENGTH_MM = 75.0
WRITERS: dict[str, tuple[str, Callable[[FootMesh], bytes]]] = {
    "OBJ": ("a.obj", obj_bytes),
    "STL binary": ("a.stl", stl_bytes),
    "STL text": ("a.stl", stl_text),
    "PLY binary": ("a.ply", ply_bytes),
    "PLY text": ("a.ply", lambda mesh: ply_bytes(mesh, "ascii")),
}


def refined(mesh: FootMesh, most: int) -> FootMesh:
    """Return the mesh with every triangle parted into four, as often as `most` allows."""
    while 4 * len(mesh.triangles) <= most:
        points, corners = mesh.vertices_mm, mesh.triangles
        edges = np.sort(np.vstack([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [2, 0]]]))
        unique, index = np.unique(edges, axis=0, return_inverse=True)
        ab, bc, ca = index.reshape(3, -1) + len(points)
        a, b, c = corners.T
        mesh = FootMesh(
            np.vstack([points, points[unique].mean(axis=1)]),
            np.vstack([np.column_stack(t) for t in ((a, ab, ca), (ab, b, bc), (ca, bc, c),
                                                    (ab, bc, ca))]),
        )  # fmt: skip
    return mesh


def timed(words: str, work: Callable[[], object]) -> object:
    """Print how long some work takes, the best of two, and return its result."""
    spent = []
    for _ in range(2):
        start = time.perf_counter()
        result = work()
        spent.append(time.perf_counter() - start)
    print(f"  {words:34} {min(spent):7.3f} s")
    return result


def memory_mb() -> float:
    """Return the most this process has held; its parent's share does not count where known."""
    status = Path("/proc/self/status")
    if status.exists():
        line = next(x for x in status.read_text().splitlines() if x.startswith("VmHWM"))
        return float(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def read_one(name: str, content: bytes, kind: str) -> None:
    before = memory_mb()
    start = time.perf_counter()
    mesh = read_mesh(content, name)
    spent = time.perf_counter() - start
    print(
        f"  {kind:12} {len(content) / 1e6:6.1f} MB  {len(mesh.triangles):7d} triangles"
        f" {spent:7.3f} s  memory {before:5.0f} -> {memory_mb():5.0f} MB"
    )


def bench_reading(mesh: FootMesh) -> None:
    print("reading (files past 20 MB are refused and left out)")
    for kind, (name, write) in WRITERS.items():
        content = write(mesh)
        if len(content) <= 20_000_000:
            process = multiprocessing.get_context("spawn").Process(
                target=read_one, args=(name, content, kind)
            )
            process.start()
            process.join()


def bench_last(words: str, mesh: FootMesh, top_mm: float) -> None:
    print(f"{words}: {len(mesh.triangles)} triangles, shaft to {top_mm:g} mm")
    timed("unit and pose recognised", lambda: recognise(FootMesh(mesh.vertices_mm, mesh.triangles)))
    timed("all faults looked for", lambda: check_mesh(mesh, LENGTH_MM))
    asked = timed("measured", lambda: measure_mesh(mesh, LENGTH_MM))
    foot = Foot("bench", {"foot_length": LENGTH_MM}, mesh=mesh)
    base = last_from_measures(foot, top_mm=top_mm)
    last = timed("last from mesh", lambda: last_from_mesh(foot, base, top_mm=top_mm))
    timed("last as STL", lambda: last_stl(last))
    timed("last as OBJ", lambda: last_obj(last))
    timed("slotted cards", lambda: card_sections(last, card_thickness_mm=1.0, spacing_mm=8.0))
    found = {measure.name: measure.built_mm for measure in last.measures}
    for key, value in asked.items():
        if value and key in found:
            print(f"    {key:18} mesh {value:8.3f} last {found[key]:8.3f}"
                  f" {100 * (found[key] / value - 1):+6.2f} %")  # fmt: skip
    surface = FootMesh(*closed_triangles(last))
    for height in (60.0, 90.0, 120.0, 150.0):
        if height < last.top_mm:
            girths = [section_hull(m, (0, 0, height), (0, 0, 1))[0] for m in (mesh, surface)]
            print(f"    level {height:5.0f} mm      mesh {girths[0]:8.3f} last {girths[1]:8.3f}"
                  f" {100 * (girths[1] / girths[0] - 1):+6.2f} %")  # fmt: skip


def main() -> None:
    fine = refined(sample_mesh(), 200_000)
    bench_reading(fine)
    bench_last("sample foot", sample_mesh(), 80.0)
    bench_last("sample leg", leg_mesh(), 160.0)
    bench_last("sample foot, refined", fine, 80.0)
    print(f"memory of this process at most {memory_mb():.0f} MB")


if __name__ == "__main__":
    main()
