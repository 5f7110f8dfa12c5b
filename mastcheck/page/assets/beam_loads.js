"use strict";
// Loads of one case: from the rider's weight (checks/loads.py), and on whatever shape the mast has taken,
// with their stiffness (beam/loads.py).

const GRAVITY = 9.80665; // standard gravity [m/s²], ISO 80000-3
const SPREAD_POINTS = 60; // points that stand for a load spread over the wet part

/** Part of the length, from the tip up, that is under water; ride height [m] or null: as stated. */
function wetPart(mast, length, rideHeight) {
  const height = rideHeight ?? mast.ride_height;
  return height === null || height === undefined
    ? mast.wet_fraction
    : Math.max(0, 1 - height / length);
}

/**
 * Service loads of a case in mast axes.
 *
 * @param {object} mast data of one mast: load_data of page/beam_data.py.
 * @param {object} options {caseIndex, length [m], riderMass [kg], loadFactor (null: the case's own),
 *     rideHeight [m] (null: as stated)}.
 * @param {string} [lift] which way it points: "through-rider", "dead" or "follower"; the case's own.
 * @returns {object} lift [N], arm (3) [m], aim (z [m] of the point that the lift goes through, or null),
 *     follower, force (3) [N] and moment (3) [N·m] at the tip; spread: null, or {force (3) [N] of each
 *     point, x (m), z (m) [m]}.
 */
function tipLoad(mast, options, lift = null) {
  const one = mast.cases[options.caseIndex];
  const weight = (options.riderMass + mast.rider.gear) * GRAVITY;
  const direction = lift ?? one.lift;
  const side = one.side_force * weight;
  const feet = one.feet_twist * weight * mast.rider.stance;
  let spread = null;
  if (one.side_spread) {
    const wet = wetPart(mast, options.length, options.rideHeight);
    const places = mast.stations.map((s) => s.at);
    const chords = mast.stations.map((s) => s.chord);
    spread = {
      force: [0, side / SPREAD_POINTS, 0],
      x: new Float64Array(SPREAD_POINTS),
      z: new Float64Array(SPREAD_POINTS),
    };
    for (let i = 0; i < SPREAD_POINTS; i++) {
      const at = 1 - wet * (1 - (i + 0.5) / SPREAD_POINTS);
      spread.x[i] = (0.25 - mast.taper_about) * between(at, places, chords);
      spread.z[i] = at * options.length;
    }
  }
  return {
    lift: (options.loadFactor ?? one.n) * weight,
    arm: [one.offset, -one.roll_offset, 0],
    aim: direction === "through-rider" ? -mast.rider.height - mast.adapters_m : null,
    follower: direction === "follower",
    force: [one.force[0], one.force[1] + (one.side_spread ? 0 : side), one.force[2]],
    moment: [one.moment[0], one.moment[1], one.moment[2] + feet],
    spread,
  };
}

/**
 * A case's loads on the nodes of a frame.
 *
 * @param {Float64Array} z nodes (n) [m].
 * @param {object} load of tipLoad.
 * @param {number} factor that multiplies it.
 * @returns {object} lift [N], arm, aim, follower, moment (3), force (n x 3) dead forces, couple (n x 9)
 *     sums of arm ⊗ force that turn with each node's section, spread: whether there are any, size: a
 *     force that measures all of it.
 */
function nodeLoads(z, load, factor) {
  const n = z.length;
  const out = {
    lift: load.lift * factor,
    arm: Float64Array.from(load.arm),
    aim: load.follower ? null : load.aim,
    follower: load.follower,
    moment: Float64Array.from(load.moment, (v) => v * factor),
    force: new Float64Array(3 * n),
    couple: new Float64Array(9 * n),
    spread: load.spread !== null,
  };
  for (let i = 0; i < 3; i++) out.force[3 * (n - 1) + i] = load.force[i] * factor;
  if (load.spread !== null) addSpread(out, z, load.spread, factor);
  out.size = Math.max(Math.abs(out.lift) + Math.sqrt(out.force.reduce((sum, v) => sum + v * v, 0)) + Math.hypot(...out.moment), 1e-12);
  return out;
}

/** Shares spread forces between the two nodes beside each, as a simple beam would. */
function addSpread(out, z, spread, factor) {
  const n = z.length;
  for (let k = 0; k < spread.z.length; k++) {
    let after = 1;
    while (after < n - 1 && z[after] < spread.z[k]) after++;
    const width = z[after] - z[after - 1];
    const t = width > 0 ? (spread.z[k] - z[after - 1]) / width : 1;
    for (const [node, share] of [
      [after - 1, 1 - t],
      [after, t],
    ]) {
      for (let i = 0; i < 3; i++) {
        const force = spread.force[i] * factor * share;
        out.force[3 * node + i] += force;
        out.couple[9 * node + i] += spread.x[k] * force;
      }
    }
  }
}

/** The same loads times a share, as nodeLoads. */
function scaledLoads(load, share) {
  const by = (v) => v * share;
  return {
    ...load,
    lift: load.lift * share,
    moment: load.moment.map(by),
    force: load.force.map(by),
    couple: load.couple.map(by),
    size: Math.max(load.size * share, 1e-12),
  };
}

/** Arm in space (3), lift (3) [N] and its stiffness by position (3 x 3) on a shape. */
function liftOn(load, shape) {
  const last = shape.phi.length - 1;
  const turned = mat3From(shape.r, 9 * last);
  const arm = mat3Vector(turned, load.arm);
  if (load.follower) {
    const lift = [-turned[2] * load.lift, -turned[5] * load.lift, -turned[8] * load.lift];
    return { arm, lift, tie: new Array(9).fill(0) };
  }
  if (load.aim === null) return { arm, lift: [0, 0, -load.lift], tie: new Array(9).fill(0) };
  const at = vec3Mix(1, vec3From(shape.x, 3 * last), 1, arm);
  const to = [-at[0], -at[1], load.aim - at[2]];
  const distance = Math.sqrt(to[0] * to[0] + to[1] * to[1] + to[2] * to[2]);
  const unit = to.map((v) => v / distance);
  const along = outer(unit, unit);
  const stiff = load.lift / distance;
  const tie = mat3UnityMix(stiff, -stiff, along, 0, along);
  return { arm, lift: vec3Scaled(load.lift, unit), tie };
}

/** Sum (3 x 3) of (R arm) ⊗ force of node i's section. */
function turnedCouple(load, shape, i) {
  return mat3Times(mat3From(shape.r, 9 * i), mat3From(load.couple, 9 * i));
}

/** Nodal loads (n x 7) on a shape. */
function loadVector(load, shape) {
  const n = shape.phi.length;
  const out = new Float64Array(DOFS * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < 3; j++) out[DOFS * i + j] = load.force[3 * i + j];
    if (!load.spread) continue;
    const turned = turnedCouple(load, shape, i);
    out[DOFS * i + 3] = turned[5] - turned[7];
    out[DOFS * i + 4] = turned[6] - turned[2];
    out[DOFS * i + 5] = turned[1] - turned[3];
  }
  const { arm, lift } = liftOn(load, shape);
  const couple = cross(arm, lift);
  for (let j = 0; j < 3; j++) {
    out[DOFS * (n - 1) + j] += lift[j];
    out[DOFS * (n - 1) + 3 + j] += couple[j] + load.moment[j];
  }
  return out;
}

/** Derivative (3 x 3) of (R arm) x force by spin, symmetric, of couple = sum of (R arm) ⊗ force. */
function spinStiffness(couple) {
  const trace = couple[0] + couple[4] + couple[8];
  return mat3UnityMix(-trace, 0.5, couple, 0.5, mat3Turned(couple));
}

/**
 * Adds a case's load stiffness -d(load)/d(shape) to a symmetric band, each node on itself.
 *
 * @param {Float64Array} band (N x BAND), added to.
 * @param {object} load of nodeLoads.
 * @param {object} shape where.
 * @returns {Float64Array} (7 x 7) skew part of the last node's block: of a follower lift alone not nil.
 */
function addLoadStiffness(band, load, shape) {
  const n = shape.phi.length;
  for (let i = 0; load.spread && i < n; i++) {
    const spin = spinStiffness(turnedCouple(load, shape, i));
    for (let a = 0; a < 3; a++) {
      for (let b = a; b < 3; b++) band[(DOFS * i + 3 + a) * BAND + b - a] -= spin[3 * a + b];
    }
  }
  const block = lastStiffness(load, shape);
  const skewed = new Float64Array(DOFS * DOFS);
  for (let a = 0; a < DOFS; a++) {
    for (let b = 0; b < DOFS; b++) {
      const [own, other] = [block[DOFS * a + b], block[DOFS * b + a]];
      if (b >= a) band[(DOFS * (n - 1) + a) * BAND + b - a] += (own + other) / 2;
      skewed[DOFS * a + b] = (own - other) / 2;
    }
  }
  return skewed;
}

/** Stiffness (7 x 7) of the lift on the last node; a follower's is unsymmetric. */
function lastStiffness(load, shape) {
  const { arm, lift, tie } = liftOn(load, shape);
  const out = new Float64Array(DOFS * DOFS);
  const over = skew(arm); // a spin moves the arm's end by -skew(arm)
  const tieOver = mat3Times(tie, over);
  const overTieOver = mat3Times(mat3Turned(over), tieOver);
  const turn = load.follower
    ? skew(cross(arm, lift))
    : mat3Scaled(-1, spinStiffness(outer(arm, lift)));
  const skewLift = skew(lift);
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) {
      const k = 3 * i + j;
      out[DOFS * i + j] = tie[k];
      out[DOFS * i + 3 + j] = -tieOver[k] + (load.follower ? skewLift[k] : 0);
      out[DOFS * (3 + j) + i] = -tieOver[k];
      out[DOFS * (3 + i) + 3 + j] = overTieOver[k] + turn[k];
    }
  }
  return out;
}

/** Skew part (7 x 7) that the exact tangent's last node has beside it: of a moment without potential. */
function exactSkew(load, shape) {
  const { arm, lift } = liftOn(load, shape);
  const moment = load.follower ? vec3Mix(1, load.moment, 1, cross(arm, lift)) : load.moment;
  const half = mat3Scaled(-0.5, skew(moment));
  const out = new Float64Array(DOFS * DOFS);
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) out[DOFS * (3 + i) + 3 + j] = half[3 * i + j];
  }
  return out;
}
