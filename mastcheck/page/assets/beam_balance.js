"use strict";
// The balanced shape of a frame under its loads by Newton's method, as beam/balance.py has it: from the
// linear shape with stress stiffness; where that cannot be relied on, in steps of rising load.

const CONVERGED = 1e-6; // residual above which a case is said to have found no balance
const NEWTON_AIM = 1e-8; // residual force over applied force; rounding in EA leaves some 1e-9
const NEWTON_ENOUGH = 1e-7; // enough where rounding leaves more: a step then gains little
const NEWTON_GAIN = 0.3; // at most so much of the residual before is left by a step that gains
const NEWTON_REACH = 0.3; // rad: a step that turns a node by more has left the tangent's reach
const NEWTON_STEPS = 30;
const LINEAR_LARGEST = 0.5; // rad: no node of the linear shape is turned by more
const LINEAR_STEPS = 12; // Newton's steps from the linear shape
const LINEAR_NEAR = 0.5; // how far from it the balance may lie, over its own greatest turn
const CREEP_FIRST = 0.2; // shares of the load in small steps
const CREEP_LEAST = 1 / 400;
const CREEP_STEPS = 12; // Newton's steps after which such a step is taken in half

/**
 * The shape of a case under its whole load.
 *
 * @param {object} frame of beamFrame.
 * @param {object} load of nodeLoads.
 * @returns {object} shape, residual (out-of-balance over applied force), stable: whether it was found
 *     and stands a small push (of a follower lift: whether it was found).
 */
function balancedShape(frame, load) {
  const start = linearShape(frame, load);
  if (start !== null) {
    const found = newton(frame, load, start, LINEAR_STEPS);
    if (shapeStands(frame, load, found) && isNear(start, found.shape)) return { ...found, stable: true };
  }
  let found = { shape: frame.straight, residual: Infinity };
  for (const share of [0.5, 1]) {
    found = newton(frame, scaledLoads(load, share), found.shape, NEWTON_STEPS);
    if (!(found.residual < CONVERGED)) break;
    if (share === 1 && shapeStands(frame, load, found)) return { ...found, stable: true };
  }
  // Close to buckling the bent shape must be followed in small steps.
  const crept = creep(frame, load);
  const stable = crept.residual < CONVERGED;
  return stable || !(found.residual < CONVERGED) ? { ...crept, stable } : { ...found, stable: false };
}

/** Start by the linear solution with stress stiffness; null at or above the buckling load. */
function linearShape(frame, load) {
  const applied = loadVector(load, frame.straight);
  const { band, skewed } = straightTangent(frame, load, applied, true);
  bandHeld(band, frame.fixed);
  if (!bandPositive(band, frame.fixed.length)) return null;
  const u = bandSolve(band, skewed, applied.map((v, i) => (frame.fixed[i] ? 0 : v)));
  capTurns(u, LINEAR_LARGEST);
  const phi = Float64Array.from({ length: frame.n }, (_, i) => u[DOFS * i + 6]);
  return joinedShape(frame, strainsOf(frame.straightAt, u), phi);
}

/**
 * Stiffness of the straight shape by a case's loads: stress of the first-order forces, and the loads' own.
 *
 * @param {object} frame of beamFrame.
 * @param {object} load of nodeLoads.
 * @param {Float64Array} applied the loads on the straight shape (7 n).
 * @param {boolean} elastic whether to add the elastic stiffness.
 * @returns {{band: Float64Array, skewed: Float64Array}} not yet held.
 */
function straightTangent(frame, load, applied, elastic) {
  const first = strainsOf(frame.straightAt, linearShift(frame, applied));
  const blocks = new Float64Array((frame.n - 1) * SIDE * SIDE);
  addStress(blocks, frame.straightAt, frame.straight.r, elementForces(frame.k, first));
  const band = elastic ? Float64Array.from(frame.elastic) : new Float64Array(frame.elastic.length);
  bandAddElements(band, blocks);
  return { band, skewed: addLoadStiffness(band, load, frame.straight) };
}

/** Scales movements u (7 n), in place, so that no node turns by more than `most` [rad] about an axis. */
function capTurns(u, most) {
  let largest = 1e-30;
  for (let i = 0; i < u.length; i += DOFS) {
    for (let j = 3; j < 6; j++) largest = Math.max(largest, Math.abs(u[i + j]));
  }
  const by = Math.min(1, most / largest);
  for (let i = 0; i < u.length; i++) u[i] *= by;
}

/** The shape whose elements have deformations d (e x 8), joined end to end from the base. */
function joinedShape(frame, d, phi) {
  const { n, span } = frame;
  const shape = { x: new Float64Array(3 * n), r: new Float64Array(9 * n), phi };
  let turned = [1, 0, 0, 0, 1, 0, 0, 0, 1];
  shape.r.set(turned);
  for (let e = 0; e < n - 1; e++) {
    const turn = vec3From(d, 8 * e + 3);
    const middle = mat3Times(turned, rotationMatrix(vec3Scaled(0.5, turn)));
    turned = mat3Times(turned, rotationMatrix(turn));
    const moved = mat3Vector(middle, [d[8 * e], d[8 * e + 1], d[8 * e + 2] + span[e]]);
    for (let j = 0; j < 3; j++) shape.x[3 * e + 3 + j] = shape.x[3 * e + j] + moved[j];
    for (let k = 0; k < 9; k++) shape.r[9 * e + 9 + k] = turned[k];
  }
  return shape;
}

/** Tangent {band, skewed} at a shape with kinematics `at` and element forces f; not yet held. */
function shapeTangent(frame, load, shape, at, f) {
  const blocks = elementTangents(frame.k, at);
  addStress(blocks, at, shape.r, f);
  const band = bandAddElements(new Float64Array(frame.elastic.length), blocks);
  return { band, skewed: addLoadStiffness(band, load, shape) };
}

/** Nodal forces (n x 7) that balance element forces f (e x 8). */
function nodalForces(at, f) {
  const count = f.length / 8;
  const out = new Float64Array(DOFS * (count + 1));
  for (let e = 0; e < count; e++) {
    for (let i = 0; i < 8; i++) {
      const row = e * 8 * SIDE + i * SIDE;
      for (let j = 0; j < SIDE; j++) out[DOFS * e + j] += f[8 * e + i] * at.g[row + j];
    }
  }
  return out;
}

/**
 * Newton's method. A step is taken by the strains that it means, from which the shape is joined anew:
 * moving the nodes along straight lines would stretch what turns.
 *
 * @returns {{shape: object, residual: number}} where it ended.
 */
function newton(frame, load, start, most) {
  let shape = start;
  let residual = Infinity;
  for (let step = 0; step < most; step++) {
    const at = kinematics(shape, frame.span);
    const f = elementForces(frame.k, at.d);
    const free = loadVector(load, shape);
    const held = nodalForces(at, f);
    let squares = 0;
    for (let i = 0; i < free.length; i++) {
      free[i] = frame.fixed[i] ? 0 : free[i] - held[i];
      const part = i % DOFS; // bimoment has its own dimension; it follows the rest
      const weight = part < 3 ? 1 : part < 6 ? 1 / frame.length : 0;
      squares += (free[i] * weight) ** 2;
    }
    const left = Math.sqrt(squares) / load.size;
    const done = left < NEWTON_AIM || (left < NEWTON_ENOUGH && left > NEWTON_GAIN * residual);
    residual = left;
    if (done) break;
    const { band, skewed } = shapeTangent(frame, load, shape, at, f);
    bandHeld(band, frame.fixed); // of the last node only its twist rate may be held: skew in nothing
    const exact = exactSkew(load, shape);
    for (let k = 0; k < exact.length; k++) exact[k] += skewed[k];
    const moved = bandSolve(band, exact, free);
    if (!moved.every(Number.isFinite)) return { shape, residual: Infinity };
    capTurns(moved, NEWTON_REACH);
    const strain = strainsOf(at, moved);
    for (let i = 0; i < strain.length; i++) strain[i] += at.d[i];
    const phi = shape.phi.map((v, i) => v + moved[DOFS * i + 6]);
    shape = joinedShape(frame, strain, phi);
  }
  return { shape, residual };
}

/** Whether a case is balanced, and its tangent positive definite or its lift follows the tip. */
function shapeStands(frame, load, found) {
  if (!(found.residual < CONVERGED)) return false;
  if (load.follower) return true;
  const at = kinematics(found.shape, frame.span);
  const { band } = shapeTangent(frame, load, found.shape, at, elementForces(frame.k, at.d));
  return bandPositive(bandHeld(band, frame.fixed), frame.fixed.length);
}

/** Whether a balance is the one that the linear shape points to: about its bend and twist. */
function isNear(start, found) {
  let [size, apart] = [0, 0];
  for (let i = 0; i < start.r.length; i++) {
    const unity = i % 9 === 0 || i % 9 === 4 || i % 9 === 8 ? 1 : 0;
    size = Math.max(size, Math.abs(start.r[i] - unity));
    apart = Math.max(apart, Math.abs(found.r[i] - start.r[i]));
  }
  return apart <= Math.max(LINEAR_NEAR * size, 1e-6);
}

/** Newton's method along a rising load in small steps, halved where one finds no shape that stands. */
function creep(frame, load) {
  let now = { shape: frame.straight, residual: Infinity };
  let [share, step] = [0, CREEP_FIRST];
  while (share < 1 && step > CREEP_LEAST) {
    const aim = Math.min(1, share + step);
    const part = scaledLoads(load, aim);
    const found = newton(frame, part, now.shape, CREEP_STEPS);
    if (shapeStands(frame, part, found)) {
      now = found;
      share = aim;
      step *= 1.5;
    } else {
      step *= 0.5;
    }
  }
  return { shape: now.shape, residual: share < 1 ? Infinity : now.residual };
}
