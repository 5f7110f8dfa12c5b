"use strict";
// Small vectors (3) and matrices (3 x 3, row by row) as plain arrays, and rotations, as
// beam/kinematics.py has them. Written out, because they are what a solve spends its time on.

/** The vector (3) that begins at `at` of a longer array. */
function vec3From(a, at) {
  return [a[at], a[at + 1], a[at + 2]];
}

/** The matrix (3 x 3) that begins at `at` of a longer array. */
function mat3From(a, at) {
  return [
    a[at], a[at + 1], a[at + 2], a[at + 3], a[at + 4], a[at + 5], a[at + 6], a[at + 7], a[at + 8],
  ];
}

/** Product a b (3 x 3). */
function mat3Times(a, b) {
  return [
    a[0] * b[0] + a[1] * b[3] + a[2] * b[6],
    a[0] * b[1] + a[1] * b[4] + a[2] * b[7],
    a[0] * b[2] + a[1] * b[5] + a[2] * b[8],
    a[3] * b[0] + a[4] * b[3] + a[5] * b[6],
    a[3] * b[1] + a[4] * b[4] + a[5] * b[7],
    a[3] * b[2] + a[4] * b[5] + a[5] * b[8],
    a[6] * b[0] + a[7] * b[3] + a[8] * b[6],
    a[6] * b[1] + a[7] * b[4] + a[8] * b[7],
    a[6] * b[2] + a[7] * b[5] + a[8] * b[8],
  ];
}

/** Transposed (3 x 3). */
function mat3Turned(a) {
  return [a[0], a[3], a[6], a[1], a[4], a[7], a[2], a[5], a[8]];
}

/** Product (3) of a (3 x 3) and v (3). */
function mat3Vector(a, v) {
  return [
    a[0] * v[0] + a[1] * v[1] + a[2] * v[2],
    a[3] * v[0] + a[4] * v[1] + a[5] * v[2],
    a[6] * v[0] + a[7] * v[1] + a[8] * v[2],
  ];
}

/** Product (3) of aᵀ and v. */
function mat3TurnedVector(a, v) {
  return [
    a[0] * v[0] + a[3] * v[1] + a[6] * v[2],
    a[1] * v[0] + a[4] * v[1] + a[7] * v[2],
    a[2] * v[0] + a[5] * v[1] + a[8] * v[2],
  ];
}

/** A vector (3) times a number. */
function vec3Scaled(p, a) {
  return [p * a[0], p * a[1], p * a[2]];
}

/** p a + q b of vectors (3). */
function vec3Mix(p, a, q, b) {
  return [p * a[0] + q * b[0], p * a[1] + q * b[1], p * a[2] + q * b[2]];
}

/** A matrix (3 x 3) times a number. */
function mat3Scaled(p, a) {
  return mat3Mix(p, a, 0, a);
}

/** p a + q b of matrices (3 x 3). */
function mat3Mix(p, a, q, b) {
  return [
    p * a[0] + q * b[0], p * a[1] + q * b[1], p * a[2] + q * b[2],
    p * a[3] + q * b[3], p * a[4] + q * b[4], p * a[5] + q * b[5],
    p * a[6] + q * b[6], p * a[7] + q * b[7], p * a[8] + q * b[8],
  ];
}

/** e + p a + q b of matrices (3 x 3), e the unit matrix times a number. */
function mat3UnityMix(e, p, a, q, b) {
  const out = mat3Mix(p, a, q, b);
  out[0] += e;
  out[4] += e;
  out[8] += e;
  return out;
}

/** Cross product (3). */
function cross(a, b) {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

/** Outer product (3 x 3): a bᵀ. */
function outer(a, b) {
  return [
    a[0] * b[0], a[0] * b[1], a[0] * b[2],
    a[1] * b[0], a[1] * b[1], a[1] * b[2],
    a[2] * b[0], a[2] * b[1], a[2] * b[2],
  ];
}

/** Cross-product matrix (3 x 3) of v (3). */
function skew(v) {
  return [0, -v[2], v[1], v[2], 0, -v[0], -v[1], v[0], 0];
}

/** Rotation (3 x 3) of a rotation vector (3) [rad], Rodrigues' formula. */
function rotationMatrix(v) {
  const angle = Math.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
  const k = skew(v);
  const half = sinOver(angle / 2);
  return mat3UnityMix(1, sinOver(angle), k, 0.5 * half * half, mat3Times(k, k));
}

/** sin(a) / a. */
function sinOver(a) {
  return a === 0 ? 1 : Math.sin(a) / a;
}

/** Rotation vector (3) [rad] of a rotation (3 x 3); angle below pi. */
function rotationVector(r) {
  const axial = [(r[7] - r[5]) / 2, (r[2] - r[6]) / 2, (r[3] - r[1]) / 2];
  const sine = Math.sqrt(axial[0] * axial[0] + axial[1] * axial[1] + axial[2] * axial[2]);
  const cosine = (r[0] + r[4] + r[8] - 1) / 2;
  return vec3Scaled(sine > 1e-12 ? Math.atan2(sine, cosine) / sine : 1, axial);
}

/** Right Jacobian (3 x 3) of the rotation vector v (3), by series to fourth order. */
function rightJacobian(v) {
  const k = skew(v);
  const k2 = mat3Times(k, k);
  const even = mat3Mix(1 / 6, k2, 1 / 120, mat3Times(k2, k2));
  return mat3Mix(1, mat3UnityMix(1, -1 / 2, k, -1 / 24, mat3Times(k2, k)), 1, even);
}

/** Its inverse, by series. */
function rightJacobianInverse(v) {
  const k = skew(v);
  const k2 = mat3Times(k, k);
  return mat3Mix(1, mat3UnityMix(1, 1 / 2, k, 1 / 12, k2), -1 / 720, mat3Times(k2, k2));
}
