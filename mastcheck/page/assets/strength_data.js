"use strict";
// The strength part of a mast's data, taken apart once: `strength_data.py` says what it holds.

const STRENGTH_TAKEN = new WeakMap();

/**
 * The sections of a mast with their arrays decoded, kept for the next to ask.
 *
 * @param {object} mast data of one mast.
 * @returns {Array<object>} of each different section: `points` (p x 2) [m] and `fields` (p x 7) flat,
 *     `materials`, `faces`, `chord`, `by`, and room for its stresses `sigma`, `tau` (p) [Pa] and
 *     `used` (p).
 */
function strengthSections(mast) {
  let taken = STRENGTH_TAKEN.get(mast.strength);
  if (taken === undefined) {
    taken = mast.strength.sections.map((section) => {
      const { materials } = section;
      const room = strengthRoom(materials.map(strengthMaterial), materials.map((m) => [m.table]));
      const faces = section.faces.map((face) => ({ ...face, places: facePlaces(face, room) }));
      return { ...section, ...room, faces };
    });
    STRENGTH_TAKEN.set(mast.strength, taken);
  }
  return taken;
}

/**
 * Points of the materials of a section one after another, and room for their stresses.
 *
 * @param {Array<object>} materials of the section.
 * @param {Array<Array<object>>} tables of each material, one or more: `points` and `fields`, stepped.
 * @returns {object} `points` (p x 2), `fields` (p x 7) flat; `materials` with `end`, where a material's
 *     points end; `sigma`, `tau`, `used` (p).
 */
function strengthRoom(materials, tables) {
  const ends = [];
  let p = 0;
  for (const parts of tables) ends.push((p += parts.reduce((sum, { points }) => sum + points.rows, 0)));
  const out = { points: new Float64Array(2 * p), fields: new Float64Array(7 * p) };
  let start = 0;
  for (const { points, fields } of tables.flat()) {
    out.points.set(steppedTable(points), 2 * start);
    out.fields.set(steppedTable(fields), 7 * start);
    start += points.rows;
  }
  for (const name of ["sigma", "tau", "used"]) out[name] = new Float64Array(p);
  return { ...out, materials: materials.map((material, i) => ({ ...material, end: ends[i] })) };
}

/** Places (k x 3 flat) where a face can be pressed most: x, y [m] and the stress of a unit bimoment. */
function facePlaces({ points, further }, room) {
  const held = Array.from(arrayOf(points), (p) => [room.points[2 * p], room.points[2 * p + 1], room.fields[7 * p]]);
  return Float64Array.from([...held.flat(), ...steppedTable(further)]);
}

/**
 * A table of numbers held as whole steps; `stepped` of `blocks.py` makes it.
 *
 * @param {object} table `size` bytes a number, `scale` of each column: least value and step, `rows`, `steps`.
 * @returns {Float64Array} rows x columns, flat.
 */
function steppedTable({ size, scale, rows, steps }) {
  const bytes = new Uint8Array(arrayOf(steps).buffer);
  const out = new Float64Array(rows * scale.length);
  for (let i = 0; i < out.length; i++) {
    let whole = 0;
    for (let k = size - 1; k >= 0; k--) whole = 256 * whole + bytes[size * i + k];
    const [low, step] = scale[i % scale.length];
    out[i] = low + step * whole;
  }
  return out;
}

/** A material whose plies' coefficients are flat arrays; see `strength_rules.py`. */
function strengthMaterial(material) {
  if (material.wall === null) return material;
  const flat = (ply) => ({ ...ply, linear: Float64Array.from(ply.linear.flat(Infinity)) });
  const plies = material.wall.plies.map((ply) => ({
    ...flat(ply),
    quadratic: Float64Array.from(ply.quadratic.flat()),
  }));
  return { ...material, wall: { ...material.wall, plies, silent: material.wall.silent.map(flat) } };
}

/**
 * Stresses of resultants at the points of a section, into its `sigma` and `tau`.
 *
 * @param {object} section `points`, `fields`, `materials` with `end` and `bending`, `sigma`, `tau`.
 * @param {ArrayLike<number>} resultants N, Vx, Vy, Mx, My, T, B at the stacking line [N, N m, N m²].
 * @param {number} [offset] where the station's resultants begin.
 */
function strengthStress(section, resultants, offset = 0) {
  const { points, fields, sigma, tau } = section;
  const [Vx, Vy, T, B] = [1, 2, 5, 6].map((k) => resultants[offset + k]);
  let p = 0;
  for (const { bending, end } of section.materials) {
    const [a, b, c] = bendingStress(bending, resultants, offset);
    for (; p < end; p++) {
      const f = 7 * p;
      sigma[p] = a + b * points[2 * p] + c * points[2 * p + 1] + B * fields[f];
      const x = Vx * fields[f + 1] + Vy * fields[f + 2] + T * fields[f + 3];
      const y = Vx * fields[f + 4] + Vy * fields[f + 5] + T * fields[f + 6];
      tau[p] = Math.sqrt(x * x + y * y);
    }
  }
}

/** Axial stress of N, Mx and My in a material, as [a, b, c] of a + b x + c y; `bending` (3 x 3) of unit ones. */
function bendingStress(bending, resultants, offset) {
  const [N, Mx, My] = [0, 3, 4].map((k) => resultants[offset + k]);
  return [0, 1, 2].map((k) => N * bending[0][k] + Mx * bending[1][k] + My * bending[2][k]);
}

/** Von Mises stress sqrt(sigma² + 3 tau²); in-plane stresses are nil in a beam. */
function vonMises(sigma, tau) {
  return Math.sqrt(sigma * sigma + 3 * tau * tau);
}

/**
 * Utilisation of every point by its material's own criteria, into the section's `used`; NaN where its
 * material states no strength. `strengthStress` comes first.
 */
function strengthUsed(section) {
  const { sigma, tau, used } = section;
  let p = 0;
  for (const material of section.materials) {
    const { end, strength, shear, wall } = material;
    for (; p < end; p++) {
      if (wall !== null) {
        used[p] = wallUsed(wall, sigma[p] / wall.E, tau[p] / wall.G);
        continue;
      }
      used[p] = strength === null ? NaN : vonMises(sigma[p], tau[p]) / strength;
      if (shear === null) continue;
      const sheared = tau[p] / shear;
      if (!(used[p] >= sheared)) used[p] = sheared;
    }
  }
}

/** Greatest utilisation over plies and both criteria at wall strains e and g; NaN where none is judged. */
function wallUsed(wall, e, g) {
  let worst = NaN;
  for (const ply of wall.plies) {
    const used = Math.max(plyStrained(ply, e, g), plyTsaiWu(ply, e, g));
    if (!(worst >= used)) worst = used;
  }
  return worst;
}

/** Utilisation of a ply by maximum strain, the worst of its states. */
function plyStrained(ply, e, g) {
  const rows = ply.linear;
  let worst = 0;
  for (let i = 0; i < rows.length; i += 2) {
    const used = rows[i] * e + rows[i + 1] * g;
    if (used > worst) worst = used;
  }
  return worst;
}

/** Utilisation of a ply by Tsai-Wu, the worst of its states: the root of u² - b u - a = 0. */
function plyTsaiWu(ply, e, g) {
  const q = ply.quadratic;
  let worst = 0;
  for (let i = 0; i < q.length; i += 5) {
    const a = q[i] * e * e + q[i + 1] * e * g + q[i + 2] * g * g;
    const b = q[i + 3] * e + q[i + 4] * g;
    const used = (b + Math.sqrt(Math.max(b * b + 4 * a, 0))) / 2;
    if (used > worst) worst = used;
  }
  return worst;
}
