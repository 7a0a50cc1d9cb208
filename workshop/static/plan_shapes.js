/* Shapes on a plan, as plain rings of points: how far apart they lie, and the way out of one another.

   For `plan.js`, which warns and snaps by them; the exact check is the server's. */
"use strict";

window.planShapes = (() => {
  const wrap = (deg) => ((deg % 360) + 360) % 360;
  const off = (deg) => Math.abs(((deg % 360) + 540) % 360 - 180);
  const path = (ring) => `M${ring.map(([x, y]) => `${x.toFixed(2)},${(-y).toFixed(2)}`).join("L")}Z`;

  /* Plain geometry; a ring is a list of points, not closed. */
  const boxOf = (ring) => {
    const xs = ring.map((p) => p[0]), ys = ring.map((p) => p[1]);
    return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  };
  const apart = (a, b, by) =>
    a[0] > b[2] + by || b[0] > a[2] + by || a[1] > b[3] + by || b[1] > a[3] + by;

  function inside([x, y], ring) {
    let is = false;
    for (let k = 0, j = ring.length - 1; k < ring.length; j = k, k += 1) {
      const [ax, ay] = ring[k], [bx, by] = ring[j];
      if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) is = !is;
    }
    return is;
  }

  function nearest([x, y], ring) {
    let best = null, least = Infinity;
    for (let k = 0, j = ring.length - 1; k < ring.length; j = k, k += 1) {
      const [ax, ay] = ring[j], dx = ring[k][0] - ax, dy = ring[k][1] - ay;
      const length = dx * dx + dy * dy || 1;
      const t = Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / length));
      const px = ax + t * dx, py = ay + t * dy, d = (x - px) ** 2 + (y - py) ** 2;
      if (d < least) { least = d; best = [px, py]; }
    }
    return { at: best, d: Math.sqrt(least) };
  }

  function crosses(one, two) {
    const side = (a, b, p) => Math.sign((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]));
    for (let i = 0, h = one.length - 1; i < one.length; h = i, i += 1)
      for (let k = 0, j = two.length - 1; k < two.length; j = k, k += 1)
        if (side(one[h], one[i], two[j]) * side(one[h], one[i], two[k]) < 0 &&
            side(two[j], two[k], one[h]) * side(two[j], two[k], one[i]) < 0) return true;
    return false;
  }

  const unit = (x, y) => { const l = Math.hypot(x, y); return l > 1e-9 ? [x / l, y / l] : [0, 1]; };

  /* How far a ring is from another, below zero by how deep it lies in it; the way leads out of it. */
  function between(ring, other) {
    let near = { d: Infinity }, deep = { d: 0 };
    for (const p of ring) {
      const found = nearest(p, other);
      if (inside(p, other)) {
        if (found.d > deep.d) deep = { d: found.d, way: unit(found.at[0] - p[0], found.at[1] - p[1]) };
      } else if (found.d < near.d) near = { d: found.d, way: unit(p[0] - found.at[0], p[1] - found.at[1]) };
    }
    for (const p of other) {
      const found = nearest(p, ring);
      if (inside(p, ring)) {
        if (found.d > deep.d) deep = { d: found.d, way: unit(p[0] - found.at[0], p[1] - found.at[1]) };
      } else if (found.d < near.d) near = { d: found.d, way: unit(found.at[0] - p[0], found.at[1] - p[1]) };
    }
    if (deep.d > 1e-6) return { d: -deep.d, way: deep.way };
    if (near.d > 1e-6 && crosses(ring, other)) return { d: -1, way: near.way };
    return near;
  }

  /* The same for a ring that is to stay within the hide; the way leads inward. */
  function within(ring, hide) {
    let near = { d: Infinity }, out = { d: 0 };
    for (const p of ring) {
      const found = nearest(p, hide);
      const way = unit(found.at[0] - p[0], found.at[1] - p[1]);
      if (!inside(p, hide)) { if (found.d > out.d) out = { d: found.d, way }; }
      else if (found.d < near.d) near = { d: found.d, way: [-way[0], -way[1]] };
    }
    for (const p of hide) {
      const found = nearest(p, ring);
      const way = unit(p[0] - found.at[0], p[1] - found.at[1]);
      if (inside(p, ring)) { if (found.d > out.d) out = { d: found.d, way }; }
      else if (found.d < near.d) near = { d: found.d, way: [-way[0], -way[1]] };
    }
    return out.d > 1e-6 ? { d: -out.d, way: out.way } : near;
  }

  return { wrap, off, path, boxOf, apart, inside, between, within };
})();
