"use strict";
// The beam element, exact by its section flexibility, as beam/element.py has it.

const TWIST_TERMS = 6; // Legendre polynomials of an element's twist rate
const ELEMENT_GAUSS = gaussPoints(8);
const ELEMENT_POINTS = ELEMENT_GAUSS.t.length;
const TWIST_SHAPES = []; // at each point: {value, slope} of the polynomials, on [-1, 1]
for (const t of ELEMENT_GAUSS.t) TWIST_SHAPES.push(legendre(TWIST_TERMS - 1, t));
const POINT_SLOPES = slopesThrough(ELEMENT_GAUSS.t);

/** Slopes (m x m) at places t (m) of the polynomial through values there. */
function slopesThrough(t) {
  const m = t.length;
  const share = new Float64Array(m).fill(1);
  for (let i = 0; i < m; i++) for (let j = 0; j < m; j++) if (j !== i) share[i] /= t[i] - t[j];
  const out = new Float64Array(m * m);
  for (let i = 0; i < m; i++) {
    for (let j = 0; j < m; j++) {
      if (j === i) continue;
      out[i * m + j] = share[j] / share[i] / (t[i] - t[j]);
      out[i * m + i] -= out[i * m + j];
    }
  }
  return out;
}

/**
 * Flexibility of an element from z_a to z_b for the resultants (Vx, Vy, N, Mx, My, T) at mid-length and the
 * bimoments B_b and B_a.
 *
 * Inside it resultants follow from equilibrium; the twist rate is a polynomial of its own, condensed out.
 *
 * @param {object} model of beamModel.
 * @param {number} a its end toward the base [m].
 * @param {number} b the other [m].
 * @returns {Float64Array} (8 x 8).
 */
function elementFlexibility(model, a, b) {
  const length = b - a;
  const middle = (a + b) / 2;
  let interval = 0;
  while (interval < model.splines.length - 1 && model.breaks[interval + 1] < middle) interval++;
  const out = new Float64Array(64);
  const strains = new Float64Array(ELEMENT_POINTS * 18); // (points x 3 x 6) per unit force
  const work = new Float64Array(ELEMENT_POINTS * 18); // contraction times torque, (points x 3 x 6)
  const k = new Float64Array(TWIST_TERMS * TWIST_TERMS);
  const r = new Float64Array(TWIST_TERMS * 8);
  for (let m = 0; m < ELEMENT_POINTS; m++) {
    const z = a + (length * (ELEMENT_GAUSS.t[m] + 1)) / 2;
    const weight = (ELEMENT_GAUSS.w[m] * length) / 2;
    const section = beamStiffness(model, z, interval);
    const arm = middle - z;
    // (N, Mx, My) here of the six forces at mid-length.
    const direct = [0, 0, 1, 0, 0, 0, 0, -arm, 0, 1, 0, 0, arm, 0, 0, 0, 1, 0];
    const [xs, ys] = section.centre;
    const torque = [ys, -xs, 0, 0, 0, 1];
    for (let j = 0; j < 6; j++) {
      for (let i = 0; i < 3; i++) {
        torque[j] -= section.fibre[i] * direct[6 * i + j];
        let strain = 0;
        for (let n = 0; n < 3; n++) strain += section.flexibility[3 * i + n] * direct[6 * n + j];
        strains[m * 18 + 6 * i + j] = strain;
      }
    }
    for (let i = 0; i < 6; i++) {
      for (let j = 0; j < 6; j++) {
        let sum = 0;
        for (let n = 0; n < 3; n++) sum += direct[6 * n + i] * strains[m * 18 + 6 * n + j];
        out[8 * i + j] += weight * sum;
      }
    }
    for (let i = 0; i < 2; i++) {
      for (let j = 0; j < 2; j++) out[8 * i + j] += weight * section.shear[2 * i + j];
    }
    for (let i = 0; i < 3; i++) {
      for (let j = 0; j < 6; j++) work[m * 18 + 6 * i + j] = section.contraction[i] * torque[j];
    }
    addTwist(k, r, weight, section, torque, TWIST_SHAPES[m], 2 / length);
  }
  addContraction(out, strains, work, length);
  for (let i = 0; i < TWIST_TERMS; i++) {
    r[8 * i + 6] = 1; // Legendre polynomials are 1 at the end b
    r[8 * i + 7] = i % 2 ? 1 : -1; // and ±1 at the end a, where B works on the twist rate's opposite
  }
  const twist = denseSolve(k, Float64Array.from(r), TWIST_TERMS, 8);
  for (let i = 0; i < 8; i++) {
    for (let j = 0; j < 8; j++) {
      for (let n = 0; n < TWIST_TERMS; n++) out[8 * i + j] += r[8 * n + i] * twist[8 * n + j];
    }
  }
  return out;
}

/** Adds one point's part of the twist's stiffness k (6 x 6) and of its forces r (6 x 8). */
function addTwist(k, r, weight, section, torque, shapes, perLength) {
  for (let i = 0; i < TWIST_TERMS; i++) {
    const value = weight * section.GJ * shapes.value[i];
    const slope = weight * section.EGamma * perLength * perLength * shapes.slope[i];
    for (let j = 0; j < TWIST_TERMS; j++) {
      k[TWIST_TERMS * i + j] += value * shapes.value[j] + slope * shapes.slope[j];
    }
    for (let j = 0; j < 6; j++) r[8 * i + j] += weight * shapes.value[i] * torque[j];
  }
}

/** Adds to a flexibility (8 x 8) the work of the strains' contraction on varying torsion. */
function addContraction(out, strains, work, length) {
  for (let m = 0; m < ELEMENT_POINTS; m++) {
    const weight = (ELEMENT_GAUSS.w[m] * length) / 2;
    for (let n = 0; n < 3; n++) {
      for (let j = 0; j < 6; j++) {
        let varying = 0;
        for (let q = 0; q < ELEMENT_POINTS; q++) {
          varying += POINT_SLOPES[m * ELEMENT_POINTS + q] * (2 / length) * work[q * 18 + 6 * n + j];
        }
        for (let i = 0; i < 6; i++) {
          const one = weight * strains[m * 18 + 6 * n + i] * varying;
          out[8 * i + j] += one;
          out[8 * j + i] += one;
        }
      }
    }
  }
}
