"use strict";
// The shape of a square as it is seen in a picture: from its four corners to any point of it, and
// back. What is kept is computed on the server; this shows the strings while one marks.
//
//   const shape = window.squareShape(corners);   corners: [[u, v] × 4] in the grid's order
//   shape.at(x, y) → [u, v]; shape.of(u, v) → [x, y], both in shares of the side; null: no shape
window.squareShape = (corners) => {
  const [[u0, v0], [u1, v1], [u2, v2], [u3, v3]] = corners;
  const [du1, du2, su] = [u1 - u2, u3 - u2, u0 - u1 + u2 - u3];
  const [dv1, dv2, sv] = [v1 - v2, v3 - v2, v0 - v1 + v2 - v3];
  const below = du1 * dv2 - du2 * dv1;
  if (Math.abs(below) < 1e-9) return null;
  // The unit square onto a quadrilateral, in closed form (Heckbert 1989, section 2.2.3).
  const g = (su * dv2 - du2 * sv) / below;
  const h = (du1 * sv - su * dv1) / below;
  const m = [u1 - u0 + g * u1, u3 - u0 + h * u3, u0, v1 - v0 + g * v1, v3 - v0 + h * v3, v0, g, h, 1];
  const back = adjugate(m);

  function adjugate([a, b, c, d, e, f, p, q, r]) {
    return [e * r - f * q, c * q - b * r, b * f - c * e, f * p - d * r, a * r - c * p, c * d - a * f, d * q - e * p, b * p - a * q, a * e - b * d];
  }

  function through(n, s, t) {
    const w = n[6] * s + n[7] * t + n[8];
    return [(n[0] * s + n[1] * t + n[2]) / w, (n[3] * s + n[4] * t + n[5]) / w];
  }

  // Twice the signed area of the triangle at each corner: all of one sign in a proper square.
  const turns = corners.map((one, i) => {
    const [next, after] = [corners[(i + 1) % 4], corners[(i + 2) % 4]];
    return (next[0] - one[0]) * (after[1] - next[1]) - (next[1] - one[1]) * (after[0] - next[0]);
  });
  const sides = corners.map((one, i) => Math.hypot(one[0] - corners[(i + 1) % 4][0], one[1] - corners[(i + 1) % 4][1]));
  return {
    at: (x, y) => through(m, x, y),
    of: (u, v) => through(back, u, v),
    // v runs down: seen from in front, the grid's order goes round with falling sign.
    isCrossed: turns.some((turn) => turn > 0) && turns.some((turn) => turn < 0),
    isMirrored: turns.every((turn) => turn > 0),
    uneven: Math.max(...sides) / Math.min(...sides) - 1,
  };
};
