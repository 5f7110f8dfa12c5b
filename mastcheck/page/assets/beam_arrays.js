"use strict";
// Arrays out of the page's data, and small dense algebra. Matrices are flat, row by row.

const ARRAY_KINDS = { f64: Float64Array, f32: Float32Array, u16: Uint16Array, i32: Int32Array };

/**
 * An array of the data as a flat typed array, rows first, with its shape beside it.
 *
 * @param {object|Array} block {"f64"|"f32"|"u16"|"i32": base64 of little endian numbers, "shape": [..]},
 *     or a list of numbers or of lists of them, all of one length.
 * @returns {Float64Array|Float32Array|Uint16Array|Int32Array} flat, with a property `shape`.
 */
function arrayOf(block) {
  if (Array.isArray(block)) {
    const shape = [];
    for (let part = block; Array.isArray(part); part = part[0]) shape.push(part.length);
    const listed = Float64Array.from(block.flat(Infinity));
    listed.shape = shape;
    return listed;
  }
  const kind = Object.keys(ARRAY_KINDS).find((name) => name in block);
  const text = atob(block[kind]);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  const out = new ARRAY_KINDS[kind](bytes.buffer);
  out.shape = block.shape;
  return out;
}

/** Row, from k on, with the largest entry in column k of a matrix (n x n): the pivot. */
function pivotRow(a, n, k) {
  let best = k;
  for (let i = k + 1; i < n; i++) {
    if (Math.abs(a[i * n + k]) > Math.abs(a[best * n + k])) best = i;
  }
  return best;
}

/**
 * Solution of a x = b by elimination with row pivots.
 *
 * @param {Float64Array} a (n x n), destroyed.
 * @param {Float64Array} b (n x m) right sides, replaced by the solution.
 * @param {number} n unknowns.
 * @param {number} m right sides.
 * @returns {Float64Array} b.
 */
function denseSolve(a, b, n, m) {
  for (let k = 0; k < n; k++) {
    const p = pivotRow(a, n, k);
    if (p !== k) {
      swapRows(a, n, k, p);
      swapRows(b, m, k, p);
    }
    const pivot = a[k * n + k];
    for (let i = k + 1; i < n; i++) {
      const by = a[i * n + k] / pivot;
      if (by === 0) continue;
      for (let j = k + 1; j < n; j++) a[i * n + j] -= by * a[k * n + j];
      for (let j = 0; j < m; j++) b[i * m + j] -= by * b[k * m + j];
    }
  }
  for (let k = n - 1; k >= 0; k--) {
    for (let j = 0; j < m; j++) {
      let sum = b[k * m + j];
      for (let i = k + 1; i < n; i++) sum -= a[k * n + i] * b[i * m + j];
      b[k * m + j] = sum / a[k * n + k];
    }
  }
  return b;
}

/** Swaps rows k and p of a matrix with m columns, in place. */
function swapRows(a, m, k, p) {
  for (let j = 0; j < m; j++) {
    const kept = a[k * m + j];
    a[k * m + j] = a[p * m + j];
    a[p * m + j] = kept;
  }
}

/** Inverse (n x n) of a matrix a (n x n), which is kept. */
function denseInverse(a, n) {
  const unity = new Float64Array(n * n);
  for (let i = 0; i < n; i++) unity[i * n + i] = 1;
  return denseSolve(Float64Array.from(a), unity, n, n);
}

/** Whether a symmetric matrix (n x n) is positive definite, by Cholesky's decomposition; a is kept. */
function densePositive(a, n) {
  const c = Float64Array.from(a);
  for (let k = 0; k < n; k++) {
    for (let j = 0; j < k; j++) c[k * n + k] -= c[k * n + j] * c[k * n + j];
    if (!(c[k * n + k] > 0)) return false;
    const root = (c[k * n + k] = Math.sqrt(c[k * n + k]));
    for (let i = k + 1; i < n; i++) {
      for (let j = 0; j < k; j++) c[i * n + k] -= c[i * n + j] * c[k * n + j];
      c[i * n + k] /= root;
    }
  }
  return true;
}

/**
 * Gauss-Legendre points and weights on [-1, 1], by Newton's method on the Legendre polynomial.
 *
 * @param {number} n points.
 * @returns {{t: Float64Array, w: Float64Array}} rising points (n) and their weights (n).
 */
function gaussPoints(n) {
  const t = new Float64Array(n);
  const w = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let x = -Math.cos((Math.PI * (i + 0.75)) / (n + 0.5));
    for (let k = 0; k < 20; k++) x -= legendre(n, x).value[n] / legendre(n, x).slope[n];
    const slope = legendre(n, x).slope[n];
    t[i] = x;
    w[i] = 2 / ((1 - x * x) * slope * slope);
  }
  return { t, w };
}

/** Legendre polynomials 0 to n and their slopes at x in [-1, 1]: {value, slope} (n + 1). */
function legendre(n, x) {
  const value = new Float64Array(n + 1);
  const slope = new Float64Array(n + 1);
  value[0] = 1;
  for (let k = 1; k <= n; k++) {
    value[k] = k === 1 ? x : ((2 * k - 1) * x * value[k - 1] - (k - 1) * value[k - 2]) / k;
    slope[k] = k * value[k - 1] + x * slope[k - 1];
  }
  return { value, slope };
}

/**
 * Values between given ones by straight lines, those at the ends beyond them.
 *
 * @param {number} at place.
 * @param {ArrayLike<number>} x rising places (n).
 * @param {ArrayLike<number>} y values, one per `stride` from `offset` on.
 * @param {number} [stride] columns of y.
 * @param {number} [offset] column of y.
 * @returns {number} value there.
 */
function between(at, x, y, stride = 1, offset = 0) {
  const last = x.length - 1;
  if (at <= x[0]) return y[offset];
  if (at >= x[last]) return y[last * stride + offset];
  let k = 0;
  while (x[k + 1] <= at) k++;
  const [a, b] = [y[k * stride + offset], y[(k + 1) * stride + offset]];
  return a + ((b - a) / (x[k + 1] - x[k])) * (at - x[k]);
}
