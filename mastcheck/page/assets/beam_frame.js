"use strict";
// Nodes and element stiffnesses of one mast at one length, as beam/solve.py and beam/ends.py have them.

const FRAME_ELEMENTS = 40; // to aim for
const JOINT_ELEMENT = 1 / 400; // length over the mast's of the element that holds a joint
const WARPING_LAYERS = [1.5, 4, 8]; // nodes so many decay lengths of warping from a held end
const LAYER_CLEAR = 0.1; // of that length: least distance of these nodes from the others
const END_REACH = 1 / 50; // least share of the length over which a fixed end is spread
const END_LEFT = 0.5; // least share of an element's own flexibility that is left, in any direction

/**
 * Finite elements of a mast.
 *
 * @param {object} model of beamModel.
 * @returns {object} model, length [m], z nodes (n) [m], span (n - 1) [m], k (n - 1 x 8 x 8) element
 *     stiffness, fixed (7 n) 1 where held, elastic (7 n x BAND) stiffness of the straight shape, root: its
 *     held Cholesky's root, or null where rounding leaves none, straight: the unbent shape and
 *     straightAt: its kinematics.
 * @throws {Error} where a fixed end does not fit into half the beam.
 */
function beamFrame(model) {
  const z = frameNodes(model);
  const n = z.length;
  const span = Float64Array.from({ length: n - 1 }, (_, e) => z[e + 1] - z[e]);
  const flexibility = new Float64Array((n - 1) * 64);
  for (let e = 0; e < n - 1; e++) flexibility.set(elementFlexibility(model, z[e], z[e + 1]), 64 * e);
  const added = [];
  if (model.baseJoint) added.push([0, 1, model.baseJoint, span[0] / 2]);
  if (model.tipJoint) added.push([n - 2, 1, model.tipJoint, -span[n - 2] / 2]);
  if (model.baseEnd) added.push(...spreadEnd(z, span, flexibility, model.baseEnd, false));
  if (model.tipEnd) added.push(...spreadEnd(z, span, flexibility, model.tipEnd, true));
  for (const [e, part, compliance, arm] of added) {
    addCompliance(flexibility, 64 * e, compliance, part, arm);
  }
  const k = new Float64Array(flexibility.length);
  for (let e = 0; e < n - 1; e++) {
    const own = denseInverse(flexibility.subarray(64 * e, 64 * e + 64), 8);
    for (let i = 0; i < 8; i++) {
      for (let j = 0; j < 8; j++) k[64 * e + 8 * i + j] = (own[8 * i + j] + own[8 * j + i]) / 2;
    }
  }
  const fixed = new Uint8Array(DOFS * n);
  fixed.fill(1, 0, DOFS);
  if (model.tipRestrained) fixed[DOFS * n - 1] = 1;
  const straight = unloadedShape(z);
  const straightAt = kinematics(straight, span);
  const elastic = new Float64Array(DOFS * n * BAND);
  bandAddElements(elastic, elementTangents(k, straightAt));
  const root = bandHeld(Float64Array.from(elastic), fixed);
  const rooted = bandRoot(root, DOFS * n);
  return {
    model, length: model.length, z, n, span, k, fixed, elastic, straight, straightAt,
    root: rooted ? root : null,
  };
}

/** Positions, rotations and twist rates of the unbent mast with nodes z (n) [m]. */
function unloadedShape(z) {
  const n = z.length;
  const shape = { x: new Float64Array(3 * n), r: new Float64Array(9 * n), phi: new Float64Array(n) };
  for (let i = 0; i < n; i++) {
    shape.x[3 * i + 2] = z[i];
    for (let j = 0; j < 9; j += 4) shape.r[9 * i + j] = 1;
  }
  return shape;
}

/** Node places (n) [m]: even, plus breaks and stations, finer where warping decays and at joints. */
function frameNodes(model) {
  const { length } = model;
  const size = length / FRAME_ELEMENTS;
  const must = [0, length, ...model.breaks, ...model.z];
  if (model.baseJoint) must.push(JOINT_ELEMENT * length);
  if (model.tipJoint) must.push((1 - JOINT_ELEMENT) * length);
  const ends = [[0, 1], ...(model.tipRestrained ? [[length, -1]] : [])];
  const finer = ends.flatMap(([end, inward]) => {
    const layer = warpingLength(model, end);
    return WARPING_LAYERS.filter((f) => f * layer < 2 * size)
      .map((f) => end + inward * f * layer)
      .filter((place) => must.every((k) => Math.abs(place - k) > LAYER_CLEAR * layer));
  });
  must.push(...finer);
  must.sort((a, b) => a - b);
  const merged = [must[0]];
  for (const z of must) if (z - merged[merged.length - 1] > 1e-7 * length) merged.push(z);
  merged[merged.length - 1] = length;
  const out = [];
  for (let i = 0; i + 1 < merged.length; i++) {
    const [a, b] = [merged[i], merged[i + 1]];
    const count = Math.max(1, roundedEven((b - a) / size));
    for (let j = 0; j < count; j++) out.push(j * ((b - a) / count) + a);
  }
  return Float64Array.of(...out, length);
}

/** Nearest whole number; of a half the even one, as Python rounds. */
function roundedEven(value) {
  const below = Math.floor(value);
  if (value - below === 0.5) return below % 2 === 0 ? below : below + 1;
  return Math.round(value);
}

/** Adds part of a compliance (6 x 6) that acts `arm` [m] nearer the base, in place, from `at` on. */
function addCompliance(flexibility, at, compliance, part, arm) {
  // Columns, then rows, of Lᵀ C L with L = 1 but for L[3, 1] = -arm, L[4, 0] = arm.
  const c = Float64Array.from(compliance);
  for (let i = 0; i < 6; i++) {
    c[6 * i + 1] -= arm * c[6 * i + 3];
    c[6 * i] += arm * c[6 * i + 4];
  }
  for (let j = 0; j < 6; j++) {
    c[6 + j] -= arm * c[18 + j];
    c[j] += arm * c[24 + j];
  }
  for (let i = 0; i < 6; i++) {
    for (let j = 0; j < 6; j++) flexibility[at + 8 * i + j] += part * c[6 * i + j];
  }
}

/**
 * Elements near an end with their part of its compliance, [element, part, compliance, arm [m]] each.
 *
 * A short element takes less than its length: what twist may couple with falls as the square of it.
 *
 * @throws {Error} where half the length is not enough to spread it.
 */
function spreadEnd(z, span, flexibility, end, atTip) {
  const count = span.length;
  const length = z[count] - z[0];
  const place = (m) => (atTip ? count - 1 - m : m);
  let reach = 0;
  let squares = 0;
  for (let m = 0; m < count; m++) {
    reach += span[place(m)];
    squares += span[place(m)] ** 2;
    if (reach < END_REACH * length) continue;
    if (reach > length / 2) break;
    const found = [];
    for (let i = 0; i <= m; i++) {
      const e = place(i);
      const arm = (z[e] + z[e + 1]) / 2 - (atTip ? z[count] : z[0]);
      found.push([e, span[e] ** 2 / squares, end, arm]);
    }
    if (found.every((one) => endFits(flexibility, ...one))) return found;
  }
  throw new Error("a fixed end does not fit into half the beam");
}

/** Whether an element keeps enough flexibility with a part of an end's compliance added to it. */
function endFits(flexibility, e, part, end, arm) {
  const own = flexibility.slice(64 * e, 64 * e + 64).map((v) => v * (1 - END_LEFT));
  addCompliance(own, 0, end, part, arm);
  return densePositive(own, 8);
}

/** Elastic element matrices (e x 14 x 14): gᵀ k g, of kinematics `at`. */
function elementTangents(k, at) {
  const count = at.d.length / 8;
  const out = new Float64Array(count * SIDE * SIDE);
  const kg = new Float64Array(8 * SIDE);
  for (let e = 0; e < count; e++) {
    const g = 8 * SIDE * e;
    kg.fill(0);
    for (let i = 0; i < 8; i++) {
      for (let n = 0; n < 8; n++) {
        const by = k[64 * e + 8 * i + n];
        if (by === 0) continue;
        for (let j = 0; j < SIDE; j++) kg[SIDE * i + j] += by * at.g[g + SIDE * n + j];
      }
    }
    const to = SIDE * SIDE * e;
    for (let n = 0; n < 8; n++) {
      for (let i = 0; i < SIDE; i++) {
        const by = at.g[g + SIDE * n + i];
        if (by === 0) continue;
        for (let j = 0; j < SIDE; j++) out[to + SIDE * i + j] += by * kg[SIDE * n + j];
      }
    }
  }
  return out;
}

/** Element forces (e x 8) of deformations d (e x 8). */
function elementForces(k, d) {
  const out = new Float64Array(d.length);
  for (let e = 0; e * 8 < d.length; e++) {
    for (let i = 0; i < 8; i++) {
      let sum = 0;
      for (let j = 0; j < 8; j++) sum += k[64 * e + 8 * i + j] * d[8 * e + j];
      out[8 * e + i] = sum;
    }
  }
  return out;
}

/** Changes of the deformations (e x 8) by small movements u (7 n) of a shape with kinematics `at`. */
function strainsOf(at, u) {
  const out = new Float64Array(at.d.length);
  for (let e = 0; e * 8 < out.length; e++) {
    for (let i = 0; i < 8; i++) {
      const row = e * 8 * SIDE + i * SIDE;
      let sum = 0;
      for (let j = 0; j < SIDE; j++) sum += at.g[row + j] * u[DOFS * e + j];
      out[8 * e + i] = sum;
    }
  }
  return out;
}

/** First-order movements (7 n) of the straight shape under nodal loads (7 n), which are kept. */
function linearShift(frame, loads) {
  const free = loads.map((v, i) => (frame.fixed[i] ? 0 : v));
  if (frame.root !== null) return bandBackward(frame.root, bandForward(frame.root, free));
  const held = bandHeld(Float64Array.from(frame.elastic), frame.fixed);
  return bandSolve(held, new Float64Array(DOFS * DOFS), free);
}
