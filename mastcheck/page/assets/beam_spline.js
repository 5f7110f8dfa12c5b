"use strict";
// A cubic spline through a few points, as beam/spline.py has it.

/**
 * Cubics between places, without a knot at the second place and the last but one. Two points give a
 * line, three a parabola.
 *
 * @param {Float64Array} x places (n), rising, n at least 2.
 * @param {Float64Array} y values (n x k).
 * @param {number} k columns of y.
 * @returns {{x: Float64Array, k: number, cubics: Float64Array}} cubics (n - 1 x k x 4): coefficients
 *     of the third to the nought power of the way from the place before.
 */
function splineThrough(x, y, k) {
  const parts = x.length - 1;
  const h = new Float64Array(parts);
  const chord = new Float64Array(parts * k);
  for (let i = 0; i < parts; i++) {
    h[i] = x[i + 1] - x[i];
    for (let j = 0; j < k; j++) chord[i * k + j] = (y[(i + 1) * k + j] - y[i * k + j]) / h[i];
  }
  const slope = splineSlopes(h, chord, k);
  const cubics = new Float64Array(parts * k * 4);
  for (let i = 0; i < parts; i++) {
    for (let j = 0; j < k; j++) {
      const at = i * k + j;
      const bend = (slope[at] + slope[at + k] - 2 * chord[at]) / h[i];
      cubics[4 * at] = bend / h[i];
      cubics[4 * at + 1] = (chord[at] - slope[at]) / h[i] - bend;
      cubics[4 * at + 2] = slope[at];
      cubics[4 * at + 3] = y[at];
    }
  }
  return { x, k, cubics };
}

/** Slopes (n x k) at the places, from steps h (n - 1) and the slopes of the chords (n - 1 x k). */
function splineSlopes(h, chord, k) {
  const n = h.length + 1;
  const f = new Float64Array(n * k);
  if (n === 2) {
    f.set(chord);
    f.set(chord, k);
    return f;
  }
  if (n === 3) {
    for (let j = 0; j < k; j++) {
      const middle = (chord[j] * h[1] + chord[k + j] * h[0]) / (h[0] + h[1]);
      f[j] = 2 * chord[j] - middle;
      f[k + j] = middle;
      f[2 * k + j] = 2 * chord[k + j] - middle;
    }
    return f;
  }
  const a = new Float64Array(n * n);
  for (let i = 1; i < n - 1; i++) {
    a[i * n + i - 1] = h[i];
    a[i * n + i] = 2 * (h[i - 1] + h[i]);
    a[i * n + i + 1] = h[i - 1];
    for (let j = 0; j < k; j++) {
      f[i * k + j] = 3 * (h[i] * chord[(i - 1) * k + j] + h[i - 1] * chord[i * k + j]);
    }
  }
  for (const [end, beside, one, two] of [
    [0, 1, 0, 1],
    [n - 1, n - 2, n - 2, n - 3],
  ]) {
    // The third derivative is unbroken at the second point.
    const both = h[one] + h[two];
    a[end * n + end] = h[two];
    a[end * n + beside] = both;
    for (let j = 0; j < k; j++) {
      const near = (h[one] + 2 * both) * h[two] * chord[one * k + j];
      f[end * k + j] = (near + h[one] ** 2 * chord[two * k + j]) / both;
    }
  }
  return denseSolve(a, f, n, k);
}

/**
 * Values of a spline at one place; beyond the ends the outer cubics go on.
 *
 * @param {object} spline of splineThrough.
 * @param {number} z place.
 * @param {Float64Array} out values (k), filled.
 * @returns {Float64Array} out.
 */
function splineAt(spline, z, out) {
  const { x, k, cubics } = spline;
  let part = 0;
  while (part < x.length - 2 && x[part + 1] <= z) part++;
  const s = z - x[part];
  for (let j = 0; j < k; j++) {
    const c = (part * k + j) * 4;
    out[j] = ((cubics[c] * s + cubics[c + 1]) * s + cubics[c + 2]) * s + cubics[c + 3];
  }
  return out;
}
