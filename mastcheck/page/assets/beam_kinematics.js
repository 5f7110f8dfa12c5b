"use strict";
// How an element moves: its deformations under large rotations, with their first two derivatives, as
// beam/kinematics.py has them.
//
//   d = (R_mᵀ (x_b - x_a) - l e_z,  log(R_aᵀ R_b),  φ_b,  -φ_a)
//
// in the frame half way between an element's two end rotations.
//
// A shape is {x (n x 3) [m], r (n x 3 x 3), phi (n) [rad/m]}: positions, rotations and twist rates.

const SIDE = 2 * DOFS; // degrees of freedom of an element

/**
 * Of all elements between nodes that follow one another.
 *
 * @param {object} shape {x, r, phi} of n nodes.
 * @param {Float64Array} span lengths of the unbent elements (e) [m].
 * @returns {object} d (e x 8); g (e x 8 x 14), its gradient for displacement and spatial spin of the end
 *     nodes; rm (e x 9), the middle frames, span (e x 3) [m] and psi (e x 3) [rad] in them, from end to
 *     end, and wmB (e x 9), their turn, in their own axes, for a spin of the end b.
 */
function kinematics(shape, span) {
  const { x, r, phi } = shape;
  const count = span.length;
  const at = {
    d: new Float64Array(count * 8),
    g: new Float64Array(count * 8 * SIDE),
    rm: new Float64Array(count * 9),
    span: new Float64Array(count * 3),
    psi: new Float64Array(count * 3),
    wmB: new Float64Array(count * 9),
  };
  for (let e = 0; e < count; e++) {
    const [ra, rb] = [mat3From(r, 9 * e), mat3From(r, 9 * e + 9)];
    const psi = rotationVector(mat3Times(mat3Turned(ra), rb));
    const half = vec3Scaled(0.5, psi);
    const rm = mat3Times(ra, rotationMatrix(half));
    const way = vec3Mix(1, vec3From(x, 3 * e + 3), -1, vec3From(x, 3 * e));
    const own = mat3TurnedVector(rm, way);
    for (let j = 0; j < 3; j++) {
      at.d[8 * e + j] = at.span[3 * e + j] = own[j];
      at.d[8 * e + 3 + j] = at.psi[3 * e + j] = psi[j];
    }
    at.d[8 * e + 2] -= span[e];
    at.d[8 * e + 6] = phi[e + 1];
    at.d[8 * e + 7] = -phi[e];
    const psiB = mat3Times(rightJacobianInverse(psi), mat3Turned(rb));
    const wmB = mat3Scaled(0.5, mat3Times(rightJacobian(half), psiB));
    for (let k = 0; k < 9; k++) {
      at.rm[9 * e + k] = rm[k];
      at.wmB[9 * e + k] = wmB[k];
    }
    gradient(at.g, e * 8 * SIDE, mat3Turned(rm), own, psiB, wmB);
  }
  return at;
}

/** Fills the gradient (8 x 14) of one element at `from`. */
function gradient(g, from, rmTurned, span, psiB, wmB) {
  const wmA = mat3Mix(1, rmTurned, -1, wmB);
  const crossed = skew(span);
  const [byA, byB] = [mat3Times(crossed, wmA), mat3Times(crossed, wmB)];
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) {
      const row = from + i * SIDE + j;
      const k = 3 * i + j;
      g[row] = -rmTurned[k];
      g[row + 3] = byA[k];
      g[row + 7] = rmTurned[k];
      g[row + 10] = byB[k];
      g[row + 3 * SIDE + 3] = -psiB[k]; // a spin of both ends bends nothing
      g[row + 3 * SIDE + 10] = psiB[k];
    }
  }
  g[from + 6 * SIDE + 13] = 1;
  g[from + 7 * SIDE + 6] = -1;
}

/**
 * Adds the second derivative of f·d, symmetric part, to element matrices.
 *
 * Only the turn of node b is worked out: what acts on node a follows by balance.
 *
 * @param {Float64Array} out (e x 14 x 14), added to.
 * @param {object} at of kinematics.
 * @param {Float64Array} r rotations of the nodes (n x 9).
 * @param {Float64Array} f element forces (e x 8).
 */
function addStress(out, at, r, f) {
  const block = new Float64Array(SIDE * SIDE);
  for (let e = 0; e * 8 < f.length; e++) {
    block.fill(0);
    stressBlock(block, at, r, f, e);
    const to = e * SIDE * SIDE;
    for (let i = 0; i < SIDE; i++) {
      for (let j = 0; j < SIDE; j++) {
        out[to + i * SIDE + j] += (block[i * SIDE + j] + block[j * SIDE + i]) / 2;
      }
    }
  }
}

/** One element's second derivative (14 x 14), not yet made symmetric. */
function stressBlock(block, at, r, f, e) {
  const f1 = vec3From(f, 8 * e);
  const f2 = vec3From(f, 8 * e + 3);
  const rm = mat3From(at.rm, 9 * e);
  const force = mat3Vector(rm, f1);
  const skewForce = skew(force);
  const byForce = mat3Scaled(-1, mat3Times(skewForce, mat3Times(rm, mat3From(at.wmB, 9 * e))));
  const { moment, by } = turnedMoment(at, mat3From(r, 9 * e + 9), f1, f2, e);
  const lever = skew(mat3Vector(rm, vec3From(at.span, 3 * e)));
  const momentA = vec3Mix(-1, moment, -1, mat3Vector(lever, force));
  const byMomentA = mat3Mix(-1, by, -1, mat3Times(lever, byForce));
  const byA = mat3Mix(-1, skewForce, -1, byForce);
  putTurn(block, 3, byA, momentA, byMomentA, lever);
  putTurn(block, 10, byForce, moment, by, lever);
}

/** Fills the rows and columns of one node's turn, from column `own` on, of an element's block. */
function putTurn(block, own, byOwn, moment, byTurn, lever) {
  const shift = mat3Turned(byOwn);
  const turn = mat3Mix(-1, skew(moment), -1, byTurn);
  const further = mat3Times(shift, lever);
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) {
      const k = 3 * i + j;
      block[(7 + i) * SIDE + own + j] = byOwn[k];
      block[(own + i) * SIDE + 7 + j] = shift[k];
      block[i * SIDE + own + j] = -byOwn[k];
      block[(own + i) * SIDE + j] = -shift[k];
      block[(own + i) * SIDE + 10 + j] = byTurn[k];
      block[(own + i) * SIDE + 3 + j] = turn[k] + further[k];
    }
  }
}

/**
 * Moment (3) on node b of an element and its derivative (3 x 3) by the spin of node b:
 * R_b J⁻ᵀ(ψ) (f2 + ½ Jᵀ(ψ/2) (f1 × span)), J the right Jacobian.
 */
function turnedMoment(at, rb, f1, f2, e) {
  const psi = vec3From(at.psi, 3 * e);
  const h = vec3Scaled(0.5, psi);
  const [k, kh] = [skew(psi), skew(h)];
  const square = psi[0] * psi[0] + psi[1] * psi[1] + psi[2] * psi[2];
  const [a1, a2] = [1 / 2 - square / 96, 1 / 6 - square / 480];
  const b2 = 1 / 12 + square / 720;
  const q = cross(f1, vec3From(at.span, 3 * e));
  const hq = cross(h, q);
  const hhq = cross(h, hq);
  const v = vec3Mix(1, vec3Mix(1, f2, 0.5, q), 0.5, vec3Mix(a1, hq, a2, hhq));
  const kv = cross(psi, v);
  const kkv = cross(psi, kv);
  const moment = mat3Vector(rb, vec3Mix(1, v, 1, vec3Mix(-0.5, kv, b2, kkv)));
  // By h = ψ/2 at constant f1 × span, and by what the turning middle frame makes of the span.
  const [skewQ, skewV] = [skew(q), skew(v)];
  const bend = outer(vec3Mix(1 / 12, hq, 1 / 60, hhq), h);
  const second = mat3Mix(1, skew(hq), 1, mat3Times(kh, skewQ));
  const byH = mat3Mix(0.5, mat3Mix(-a1, skewQ, -a2, second), -0.5, bend);
  const [spanB, psiB] = [[], []];
  for (let i = 0; i < 3; i++) {
    const row = e * 8 * SIDE + i * SIDE + 10;
    for (let j = 0; j < 3; j++) {
      spanB.push(at.g[row + j]);
      psiB.push(at.g[row + 3 * SIDE + j]);
    }
  }
  const middle = mat3UnityMix(0.5, 0.5 * a1, kh, 0.5 * a2, mat3Times(kh, kh));
  const bySpan = mat3Times(middle, mat3Times(skew(f1), spanB));
  const byV = mat3Mix(0.5, mat3Times(byH, psiB), 1, bySpan);
  const turned = mat3Mix(1, skew(kv), 1, mat3Times(k, skewV));
  const own = mat3Mix(1, mat3Mix(0.5, skewV, -b2, turned), 1 / 360, outer(kkv, psi));
  const inverse = mat3UnityMix(1, -0.5, k, b2, mat3Times(k, k));
  const inner = mat3Mix(1, mat3Times(own, psiB), 1, mat3Times(inverse, byV));
  return { moment, by: mat3Mix(-1, skew(moment), 1, mat3Times(rb, inner)) };
}
