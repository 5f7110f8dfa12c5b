"use strict";
// The stress picture of a station: to look at. What is judged comes from `judge`.

const FIELD_TAKEN = new WeakMap();

/**
 * Stress or utilisation over a section, for drawing.
 *
 * @param {object} mast data of one mast.
 * @param {number} station index.
 * @param {ArrayLike<number>} resultants N, Vx, Vy, Mx, My, T, B of this station, or of all stations, flat.
 * @returns {?object} null where the data hold no picture; else `points` (n x 2 flat) [m], `triangles`
 *     (m x 3 flat) of their indices, `edges` (k x 2 flat): pairs of points along the boundaries of the
 *     materials; `value` (n): von Mises stress [Pa], or utilisation by the material criteria (NaN: not
 *     judged); `by`: "von Mises" or "utilisation"; `limit`: the value that must not be exceeded, null
 *     where none is stated; `greatest` of the values.
 */
function fieldAt(mast, station, resultants) {
  const section = pictureOf(mast, mast.strength.at[station]);
  if (section === null) return null;
  strengthStress(section, resultants, resultants.length > 7 ? 7 * station : 0);
  const { points, triangles, edges, by } = section;
  if (by === "utilisation") strengthUsed(section);
  const value =
    by === "utilisation"
      ? section.used.slice()
      : Float64Array.from(section.sigma, (sigma, p) => vonMises(sigma, section.tau[p]));
  const greatest = value.reduce((most, v) => (v > most ? v : most), 0);
  const limit = by === "utilisation" ? 1 : section.materials[0].strength;
  return { points, triangles, edges, value, by, limit, greatest };
}

/** The picture of a section as `strengthStress` takes it, with `triangles` and `edges`; null: none. */
function pictureOf(mast, k) {
  const section = strengthSections(mast)[k];
  if (section.picture === null) return null;
  let taken = FIELD_TAKEN.get(section.picture);
  if (taken === undefined) {
    const triangles = arrayOf(section.picture.triangles);
    const { parts } = section.picture;
    const tables = mast.strength.sections[k].materials.map(({ table }, i) => [table, parts[i]]);
    const room = strengthRoom(section.materials, tables);
    taken = { ...room, by: section.by, triangles, edges: outlineEdges(triangles) };
    FIELD_TAKEN.set(section.picture, taken);
  }
  return taken;
}

/** Edges of one triangle only (k x 2 flat): the boundaries of the materials. */
function outlineEdges(triangles) {
  const seen = new Map();
  for (let i = 0; i < triangles.length; i++) {
    const a = triangles[i];
    const b = triangles[i % 3 === 2 ? i - 2 : i + 1];
    const key = Math.min(a, b) * 65536 + Math.max(a, b);
    seen.set(key, seen.has(key) ? null : [a, b]);
  }
  return Uint16Array.from([...seen.values()].filter((edge) => edge !== null).flat());
}
