"use strict";
// The load factor at which a case buckles about its straight shape, as beam/buckling.py finds it: the
// lowest λ > 0 for which K₀ + λ K_σ is singular.

const NEVER = 1e4; // a factor beyond this is rounding, or never
const BUCKLING_SURE = 1e-7; // relative step beside the factor at which it is proved by Cholesky's method
const BUCKLING_NEAR = 0.03; // relative width of the bracket from which the mode is refined
const BUCKLING_ROUNDS = 60; // of inverse iteration, at most

/**
 * Multiple of a case's loads at which it buckles.
 *
 * A bracket is halved by whether K₀ + λ K_σ is positive definite; the mode is then refined by inverse
 * iteration with Rayleigh's quotient, and what it gives is proved on both sides by Cholesky's
 * decomposition. Where that proof fails the bracket is halved on.
 *
 * @param {object} frame of beamFrame.
 * @param {object} load of nodeLoads at service; not of a lift that follows the tip.
 * @returns {number} factor; Infinity: never; 0 where rounding leaves the unloaded mast no strength to stand.
 */
function bucklingFactor(frame, load) {
  const size = frame.fixed.length;
  const { band } = straightTangent(frame, load, loadVector(load, frame.straight), false);
  // Displacements, rotations and twist rates differ in size: scale to unit diagonal.
  const by = new Float64Array(size);
  for (let i = 0; i < size; i++) by[i] = frame.fixed[i] ? 0 : 1 / Math.sqrt(frame.elastic[i * BAND]);
  const k0 = bandHeld(bandScaled(frame.elastic, by), frame.fixed);
  const ks = bandHeld(bandScaled(band, by), frame.fixed, 0);
  const root = new Float64Array(k0.length);
  const stands = (factor) => {
    for (let i = 0; i < root.length; i++) root[i] = k0[i] + factor * ks[i];
    return bandRoot(root, size);
  };
  if (stands(NEVER)) return Infinity;
  if (!stands(0)) return 0;
  let [low, high] = [0, 1];
  while (high < NEVER && stands(high)) [low, high] = [high, 4 * high];
  const halve = (width) => {
    while (high - low > width * high) {
      const middle = (low + high) / 2;
      if (stands(middle)) low = middle;
      else high = middle;
    }
  };
  halve(BUCKLING_NEAR);
  stands(low);
  const found = refinedFactor(k0, ks, root);
  if (stands((1 - BUCKLING_SURE) * found) && !stands((1 + BUCKLING_SURE) * found)) {
    return found > NEVER ? Infinity : found;
  }
  halve(BUCKLING_SURE / 10);
  return high > NEVER ? Infinity : (low + high) / 2;
}

/** The lowest eigenvalue λ of K₀ + λ K_σ, by Cholesky's root of that sum a little below it. */
function refinedFactor(k0, ks, root) {
  const size = k0.length / BAND;
  let factor = 0;
  // Any start that is not blind to the mode: every degree of freedom, in no pattern.
  let mode = Float64Array.from({ length: size }, (_, i) => Math.cos(1 + i * i));
  let pull = bandTimes(ks, mode);
  for (let round = 0; round < BUCKLING_ROUNDS; round++) {
    mode = bandBackward(root, bandForward(root, pull));
    pull = bandTimes(ks, mode);
    const elastic = bandTimes(k0, mode);
    let [up, down, squares] = [0, 0, 0];
    for (let i = 0; i < size; i++) {
      up += mode[i] * elastic[i];
      down -= mode[i] * pull[i];
      squares += mode[i] * mode[i];
    }
    const before = factor;
    factor = up / down;
    if (Math.abs(factor - before) <= 1e-13 * Math.abs(factor)) break;
    const length = Math.sqrt(squares);
    for (let i = 0; i < size; i++) pull[i] /= length;
  }
  return factor;
}
