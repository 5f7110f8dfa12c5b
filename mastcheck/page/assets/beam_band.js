"use strict";
// Matrices of a chain of nodes, each joined to the next: bands, as beam/chain.py has them.
//
// A symmetric one is its upper band (N x BAND), row by row: entry (i, j) of the matrix, j from i to
// i + BAND - 1, at i * BAND + j - i. Only the last node's own block may be unsymmetric: its skew part
// (7 x 7) stands beside the band.

const DOFS = 7; // a node: ux, uy, uz, rotation x, y, z, twist rate
const BAND = 2 * DOFS;

/**
 * Cholesky's root U of a symmetric band, aᵀ = a = Uᵀ U, in its place.
 *
 * @param {Float64Array} a (N x BAND), replaced.
 * @param {number} size N.
 * @param {number} [until] rows to do; what is left of the others stands in them.
 * @returns {boolean} whether it is positive definite; if not, a is left in pieces.
 */
function bandRoot(a, size, until = size) {
  for (let i = 0; i < until; i++) {
    const row = i * BAND;
    if (!(a[row] > 0)) return false;
    const root = Math.sqrt(a[row]);
    const most = Math.min(BAND, size - i);
    a[row] = root;
    for (let p = 1; p < most; p++) a[row + p] /= root;
    for (let p = 1; p < most; p++) {
      const by = a[row + p];
      if (by === 0) continue;
      const to = (i + p) * BAND - p;
      for (let q = p; q < most; q++) a[to + q] -= by * a[row + q];
    }
  }
  return true;
}

/** U⁻ᵀ b in place of b (N), U the root of a band. */
function bandForward(root, b) {
  const size = b.length;
  for (let i = 0; i < size; i++) {
    const row = i * BAND;
    const most = Math.min(BAND, size - i);
    const value = (b[i] /= root[row]);
    for (let p = 1; p < most; p++) b[i + p] -= root[row + p] * value;
  }
  return b;
}

/** U⁻¹ b in place of b (N), U the root of a band. */
function bandBackward(root, b) {
  const size = b.length;
  for (let i = size - 1; i >= 0; i--) {
    const row = i * BAND;
    const most = Math.min(BAND, size - i);
    let sum = b[i];
    for (let p = 1; p < most; p++) sum -= root[row + p] * b[i + p];
    b[i] = sum / root[row];
  }
  return b;
}

/** Product (N) of a symmetric band and a vector v (N). */
function bandTimes(a, v) {
  const size = v.length;
  const out = new Float64Array(size);
  for (let i = 0; i < size; i++) {
    const row = i * BAND;
    const most = Math.min(BAND, size - i);
    let sum = a[row] * v[i];
    for (let p = 1; p < most; p++) {
      sum += a[row + p] * v[i + p];
      out[i + p] += a[row + p] * v[i];
    }
    out[i] += sum;
  }
  return out;
}

/** Whether a symmetric band is positive definite, scaled to unit diagonal so that no sign drowns. */
function bandPositive(a, size) {
  const by = new Float64Array(size);
  for (let i = 0; i < size; i++) by[i] = 1 / Math.sqrt(Math.max(Math.abs(a[i * BAND]), 1e-300));
  return bandRoot(bandScaled(a, by), size);
}

/** A symmetric band with rows and columns multiplied by (N). */
function bandScaled(a, by) {
  const size = by.length;
  const out = new Float64Array(a.length);
  for (let i = 0; i < size; i++) {
    const most = Math.min(BAND, size - i);
    for (let p = 0; p < most; p++) out[i * BAND + p] = a[i * BAND + p] * by[i] * by[i + p];
  }
  return out;
}

/**
 * Holds degrees of freedom in place: their rows and columns become those of unity.
 *
 * @param {Float64Array} a symmetric band, changed in place.
 * @param {Uint8Array} fixed (N) 1 where held.
 * @param {number} [unity] what then stands on the diagonal.
 * @returns {Float64Array} a.
 */
function bandHeld(a, fixed, unity = 1) {
  const size = fixed.length;
  for (let i = 0; i < size; i++) {
    const most = Math.min(BAND, size - i);
    for (let p = 0; p < most; p++) if (fixed[i] || fixed[i + p]) a[i * BAND + p] = 0;
    if (fixed[i]) a[i * BAND] = unity;
  }
  return a;
}

/** Adds symmetric element matrices (e x 14 x 14), given whole, to a band, in place. */
function bandAddElements(a, blocks) {
  const side = 2 * DOFS;
  for (let e = 0; e * side * side < blocks.length; e++) {
    for (let i = 0; i < side; i++) {
      const row = (e * DOFS + i) * BAND;
      const from = e * side * side + i * side;
      for (let j = i; j < side; j++) a[row + j - i] += blocks[from + j];
    }
  }
  return a;
}

/**
 * Solution of a x = b, a a symmetric band with the skew part of its last node.
 *
 * By Cholesky's decomposition of all but the last node; where that fails, as above buckling it may, by
 * elimination with row pivots.
 *
 * @param {Float64Array} a (N x BAND), kept.
 * @param {Float64Array} skewed (7 x 7) skew part of the last node's own block.
 * @param {Float64Array} b (N), replaced by the solution.
 * @returns {Float64Array} b; not finite where the matrix is singular.
 */
function bandSolve(a, skewed, b) {
  const size = b.length;
  const most = size - DOFS;
  const root = Float64Array.from(a);
  if (!bandRoot(root, size, most)) return bandPivoted(a, skewed, b);
  for (let i = 0; i < most; i++) {
    const value = (b[i] /= root[i * BAND]);
    for (let p = 1; p < BAND && i + p < size; p++) b[i + p] -= root[i * BAND + p] * value;
  }
  const last = Float64Array.from(skewed);
  for (let i = 0; i < DOFS; i++) {
    for (let j = i; j < DOFS; j++) {
      const value = root[(most + i) * BAND + j - i];
      last[DOFS * i + j] += value;
      if (j > i) last[DOFS * j + i] += value;
    }
  }
  denseSolve(last, b.subarray(most), DOFS, 1);
  for (let i = most - 1; i >= 0; i--) {
    let sum = b[i];
    for (let p = 1; p < BAND && i + p < size; p++) sum -= root[i * BAND + p] * b[i + p];
    b[i] = sum / root[i * BAND];
  }
  return b;
}

/** The same by elimination with row pivots alone. */
function bandPivoted(a, skewed, b) {
  const size = b.length;
  const below = BAND - 1;
  const width = 3 * below + 1; // a row holds columns i - below to i + 2 below: pivots fill what is right
  const full = new Float64Array(size * width);
  for (let i = 0; i < size; i++) {
    const most = Math.min(BAND, size - i);
    for (let p = 0; p < most; p++) {
      const value = a[i * BAND + p];
      full[i * width + below + p] = value;
      full[(i + p) * width + below - p] = value;
    }
  }
  for (let i = 0; i < DOFS; i++) {
    const row = (size - DOFS + i) * width + below - i;
    for (let j = 0; j < DOFS; j++) full[row + j] += skewed[i * DOFS + j];
  }
  // Column j of row i stands at i * width + below + j - i.
  for (let k = 0; k < size; k++) {
    const last = Math.min(size - 1, k + below);
    const end = Math.min(size - 1, k + 2 * below);
    let best = k;
    for (let i = k + 1; i <= last; i++) {
      const one = Math.abs(full[i * width + below + k - i]);
      if (one > Math.abs(full[best * width + below + k - best])) best = i;
    }
    const own = k * width + below - k;
    if (best !== k) {
      const other = best * width + below - best;
      for (let j = k; j <= end; j++) {
        const kept = full[own + j];
        full[own + j] = full[other + j];
        full[other + j] = kept;
      }
      [b[k], b[best]] = [b[best], b[k]];
    }
    const pivot = full[own + k];
    for (let i = k + 1; i <= last; i++) {
      const row = i * width + below - i;
      const by = full[row + k] / pivot;
      if (by === 0) continue;
      for (let j = k + 1; j <= end; j++) full[row + j] -= by * full[own + j];
      b[i] -= by * b[k];
    }
  }
  for (let k = size - 1; k >= 0; k--) {
    const own = k * width + below - k;
    const end = Math.min(size - 1, k + 2 * below);
    let sum = b[k];
    for (let j = k + 1; j <= end; j++) sum -= full[own + j] * b[j];
    b[k] = sum / full[own + k];
  }
  return b;
}
