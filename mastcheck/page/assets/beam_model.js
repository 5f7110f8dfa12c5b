"use strict";
// Section stiffness as smooth functions of z, as beam/model.py has it.

// Columns of the data, in the order of page/beam_data.py: numbers, then triples.
const BEAM_EA = 0;
const BEAM_EIXX = 1;
const BEAM_EIYY = 2;
const BEAM_EIXY = 3;
const BEAM_GJ = 4;
const BEAM_EGAMMA = 5;
const BEAM_SHEAR_XX = 6;
const BEAM_SHEAR_YY = 7;
const BEAM_SHEAR_XY = 8;
const BEAM_CENTROID_X = 9;
const BEAM_CENTROID_Y = 10;
const BEAM_SHEAR_CENTRE_X = 11;
const BEAM_SHEAR_CENTRE_Y = 12;
const BEAM_MASS = 13;
const BEAM_SCALARS = 14;
const BEAM_FIBRE = 14; // in the splines: of both sides
const BEAM_CONTRACTION = 17;
const BEAM_SPLINED = 20;
const BEAM_BEFORE = 14; // in the data: fibre_before, fibre_after, contraction
const BEAM_AFTER = 17;
const BEAM_DATA_CONTRACTION = 20;
const BEAM_COLUMNS = 23;

const WARPING_FLOOR = 1e-5; // least decay length of warping over the mast's length
const MASS_POINTS = gaussPoints(24);

/**
 * The beam of a mast at a length: splines of the section's numbers, with breaks where its outline breaks.
 *
 * @param {object} beam data of page/beam_data.py: beam_data.
 * @param {number} length [m].
 * @returns {object} {length, z (n) [m], breaks (b) [m], splines (b - 1), powers (14), tipRestrained,
 *     baseEnd, tipEnd, baseJoint, tipJoint: compliances (6 x 6) flat, or null}.
 */
function beamModel(beam, length) {
  const values = arrayOf(beam.values);
  const z = Float64Array.from(beam.at, (at) => at * length);
  const breaks = Float64Array.from(beam.breaks, (at) => at * length);
  const tolerance = 1e-9 * length;
  const splines = [];
  for (let i = 0; i + 1 < breaks.length; i++) {
    const own = [];
    for (let s = 0; s < z.length; s++) {
      if (z[s] >= breaks[i] - tolerance && z[s] <= breaks[i + 1] + tolerance) own.push(s);
    }
    const roots = beamRoots(values, own, beam.powers, length);
    splines.push(splineThrough(Float64Array.from(own, (s) => z[s]), roots, BEAM_SPLINED));
  }
  const slender = length >= beam.ends_from;
  return {
    length: breaks[breaks.length - 1],
    z,
    breaks,
    splines,
    powers: beam.powers,
    tipRestrained: beam.tip_restrained,
    baseEnd: slender && beam.base_end ? arrayOf(beam.base_end) : null,
    tipEnd: slender && beam.tip_end ? arrayOf(beam.tip_end) : null,
    baseJoint: beam.base_joint ? arrayOf(beam.base_joint) : null,
    tipJoint: beam.tip_joint ? arrayOf(beam.tip_joint) : null,
  };
}

/** What is splined (stations x BEAM_SPLINED) of the stations `own` between two breaks. */
function beamRoots(values, own, powers, length) {
  const out = new Float64Array(own.length * BEAM_SPLINED);
  own.forEach((station, i) => {
    const from = station * BEAM_COLUMNS;
    const to = i * BEAM_SPLINED;
    for (let j = 0; j < BEAM_SCALARS; j++) {
      const value = values[from + j];
      out[to + j] = powers[j] === 1 ? value : value ** powers[j];
    }
    for (let j = 0; j < 3; j++) {
      // At a kink each side has its own taper; between kinks the sides are two looks at one.
      const before = values[from + BEAM_BEFORE + j] / length;
      const after = values[from + BEAM_AFTER + j] / length;
      let fibre = (before + after) / 2;
      if (i === 0) fibre = after;
      if (i === own.length - 1) fibre = before;
      out[to + BEAM_FIBRE + j] = fibre;
      out[to + BEAM_CONTRACTION + j] = values[from + BEAM_DATA_CONTRACTION + j];
    }
  });
  return out;
}

/**
 * Numbers of the section at z, between breaks `interval` and the next.
 *
 * @returns {Float64Array} (BEAM_SPLINED), the splines' roots raised again.
 */
function beamAt(model, z, interval) {
  const out = splineAt(model.splines[interval], z, new Float64Array(BEAM_SPLINED));
  for (let j = 0; j < BEAM_SCALARS; j++) {
    if (model.powers[j] !== 1) out[j] = out[j] ** (1 / model.powers[j]);
  }
  return out;
}

/**
 * Stiffness of the section at z about the stacking line.
 *
 * @returns {object} flexibility (3 x 3): strains (axial, kappa_x, kappa_y) per (N, Mx, My); shear (2 x 2):
 *     shear strains per (Vx, Vy); GJ, EGamma; centre (2) [m]; fibre (3): torque that (N, Mx, My) carry
 *     along inclined fibres; contraction (3).
 */
function beamStiffness(model, z, interval) {
  const p = beamAt(model, z, interval);
  const [EA, xc, yc] = [p[BEAM_EA], p[BEAM_CENTROID_X], p[BEAM_CENTROID_Y]];
  const both = -(p[BEAM_EIXY] + EA * xc * yc);
  const flexibility = denseInverse(
    [
      EA, EA * yc, -EA * xc,
      EA * yc, p[BEAM_EIXX] + EA * yc * yc, both,
      -EA * xc, both, p[BEAM_EIYY] + EA * xc * xc,
    ],
    3,
  );
  const fibre = new Float64Array(3);
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) fibre[i] += flexibility[3 * i + j] * p[BEAM_FIBRE + j];
  }
  return {
    flexibility,
    shear: [p[BEAM_SHEAR_XX], p[BEAM_SHEAR_XY], p[BEAM_SHEAR_XY], p[BEAM_SHEAR_YY]],
    GJ: p[BEAM_GJ],
    // A section that hardly warps gets a floor, so that the warping equation keeps its order.
    EGamma: Math.max(p[BEAM_EGAMMA], p[BEAM_GJ] * (model.length * WARPING_FLOOR) ** 2),
    centre: [p[BEAM_SHEAR_CENTRE_X], p[BEAM_SHEAR_CENTRE_Y]],
    fibre,
    contraction: p.subarray(BEAM_CONTRACTION, BEAM_CONTRACTION + 3),
  };
}

/** Decay length of restrained warping, sqrt(EGamma/GJ) [m], at z; at a break that of the side above. */
function warpingLength(model, z) {
  let interval = 0;
  while (interval < model.splines.length - 1 && model.breaks[interval + 1] <= z) interval++;
  const { EGamma, GJ } = beamStiffness(model, z, interval);
  return Math.sqrt(EGamma / GJ);
}

/**
 * Mass of the blade, without joints and what hangs on them.
 *
 * @param {object} mast data of one mast, with its `beam`.
 * @param {number} length [m].
 * @returns {number} [kg].
 */
function massOf(mast, length) {
  const model = beamModel(mast.beam, length);
  let mass = 0;
  model.splines.forEach((_, i) => {
    const [lo, hi] = [model.breaks[i], model.breaks[i + 1]];
    MASS_POINTS.t.forEach((t, k) => {
      const z = lo + ((hi - lo) * (t + 1)) / 2;
      mass += ((MASS_POINTS.w[k] * (hi - lo)) / 2) * beamAt(model, z, i)[BEAM_MASS];
    });
  });
  return mass;
}
