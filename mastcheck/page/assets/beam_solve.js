"use strict";
// One case of one mast at a length, a rider, a load factor and a ride height: what the page asks for.

const FRAMES = new WeakMap(); // the last frame of each mast, by its data: most moves keep the length

/** The frame of a mast at a length [m]; the last one is kept. */
function frameOf(mast, length) {
  const kept = FRAMES.get(mast);
  if (kept !== undefined && kept.length === length) return kept.frame;
  const frame = beamFrame(beamModel(mast.beam, length));
  FRAMES.set(mast, { length, frame });
  return frame;
}

/**
 * A case solved as `checks/run.py` solves it: buckling, then second order at service and at strength level.
 *
 * @param {object} mast data of one mast: `beam` by beam_data, and the keys of load_data, both of
 *     page/beam_data.py.
 * @param {object} options caseIndex; length [m]; riderMass [kg]; loadFactor: in place of the case's n, or
 *     null; rideHeight [m]: in place of the stated one or of the wet fraction, or null.
 * @returns {object}
 *     stable: whether the load times its strength factor stays below buckling and both bent shapes stand;
 *     judged: false where the lift follows the wing: `stable` then says only that shapes were found, for
 *     it may flutter, which is not looked at here;
 *     converged; bucklingFactor: multiple of the service load (Infinity: never; of a lift that follows
 *     the wing: that of one which keeps its direction);
 *     firstOrderTip, tip: {side, foreAft, axial [m], roll, pitch, twist [rad]}, tip null when not stable,
 *     as is all that follows: amplification of the lateral movement; line and strengthLine: {z (n) [m],
 *     displacement (3 n) [m], rotation (3 n) [rad], resultants (7 n) N, Vx, Vy, Mx, My, T, B in the axes of
 *     the turned section}, flat; serviceResultants and strengthResultants (stations x 7), flat.
 */
function solveCase(mast, options) {
  const frame = frameOf(mast, options.length);
  const one = mast.cases[options.caseIndex];
  const load = tipLoad(mast, options);
  const fixedWay = one.lift === "follower" ? tipLoad(mast, options, "dead") : load;
  const factor = bucklingFactor(frame, nodeLoads(frame.z, fixedWay, 1));
  const service = nodeLoads(frame.z, load, 1);
  const first = linearShift(frame, loadVector(service, frame.straight)).slice(-DOFS);
  const out = {
    stable: false,
    judged: one.lift !== "follower",
    converged: false,
    bucklingFactor: factor,
    firstOrderTip: tipOf(first),
    tip: null,
    amplification: null,
    line: null,
    strengthLine: null,
    serviceResultants: null,
    strengthResultants: null,
  };
  const strength = one.strength_factor;
  if (!(factor > Math.max(1, strength))) return out;
  const bent = balancedShape(frame, service);
  const worst = strength === 1 ? bent : balancedShape(frame, nodeLoads(frame.z, load, strength));
  out.converged = bent.residual < CONVERGED && worst.residual < CONVERGED;
  out.stable = bent.stable && worst.stable;
  if (!out.stable) return out;
  out.line = lineOf(frame, bent.shape);
  out.strengthLine = strength === 1 ? out.line : lineOf(frame, worst.shape);
  const last = 3 * (frame.n - 1);
  const moved = out.line.displacement.subarray(last);
  out.tip = tipOf([...moved, ...out.line.rotation.subarray(last)]);
  const before = Math.hypot(first[0], first[1]);
  out.amplification = before < 1e-9 ? 1 : Math.hypot(moved[0], moved[1]) / before;
  out.serviceResultants = atStations(frame, out.line);
  out.strengthResultants = atStations(frame, out.strengthLine);
  return out;
}

/** Movement of the tip from (ux, uy, uz [m], rotation x, y, z [rad]). */
function tipOf(v) {
  return { side: v[1], foreAft: v[0], axial: v[2], roll: v[3], pitch: v[4], twist: v[5] };
}

/** A shape along the mast, with its resultants in the axes of each turned node. */
function lineOf(frame, shape) {
  const { n, z } = frame;
  const at = kinematics(shape, frame.span);
  const f = elementForces(frame.k, at.d);
  const line = {
    z,
    displacement: shape.x.map((v, i) => (i % 3 === 2 ? v - z[(i - 2) / 3] : v)),
    rotation: new Float64Array(3 * n),
    resultants: new Float64Array(7 * n),
  };
  const own = new Float64Array(SIDE);
  for (let i = 0; i < n; i++) {
    const turned = mat3From(shape.r, 9 * i);
    line.rotation.set(rotationVector(turned), 3 * i);
    const e = Math.min(i, n - 2);
    const [from, sign] = i < n - 1 ? [0, -1] : [DOFS, 1]; // of the element beyond; at the tip before it
    own.fill(0);
    for (let k = 0; k < 8; k++) {
      const row = e * 8 * SIDE + k * SIDE + from;
      for (let j = 0; j < 6; j++) own[j] += sign * f[8 * e + k] * at.g[row + j];
    }
    const force = mat3TurnedVector(turned, own);
    const moment = mat3TurnedVector(turned, vec3From(own, 3));
    const bimoment = f[8 * e + (i < n - 1 ? 7 : 6)];
    line.resultants.set([force[2], force[0], force[1], ...moment, bimoment], 7 * i);
  }
  return line;
}

/** Resultants (stations x 7) of a line at the solved stations, linear between its nodes. */
function atStations(frame, line) {
  const stations = frame.model.z;
  const out = new Float64Array(7 * stations.length);
  stations.forEach((z, i) => {
    for (let j = 0; j < 7; j++) out[7 * i + j] = between(z, line.z, line.resultants, 7, j);
  });
  return out;
}
