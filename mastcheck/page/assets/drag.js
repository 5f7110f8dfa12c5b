"use strict";
// Drag of the mast's wet part, term by term: as `water/drag.py` has it, with the sources named there.

const DRAG_POINTS = 8; // Gauss points between two stations, as in `water/wet.py`
const LEAST_REYNOLDS = 1e3; // below it the friction line runs off
let dragRule = null; // those points and their weights, once they have been asked for

/**
 * Drag of a mast from the waterline to the fuselage, without leeway; wings and fuselage are not in it.
 *
 * @param {object} mast data of one mast; its `drag` as `drag_data.py` has it.
 * @param {object} choice `length` [m]; `rideHeight` [m]: still water below the board's bottom, null: what
 *     the file states, else what its wet fraction leaves dry; `speed` [m/s], above 0.
 * @returns {object} `total` [N] and its parts `friction`, `profile`, `spray`, `junction`, `base`; the band
 *     `low` and `high` [N]; `area` of the wet side [m²] and its `centre` below the base [m] (null: nothing
 *     is wet); `depth` [m] of the wet part; `boils` [m/s]: speed at which water may boil at the thickest
 *     place, null where nothing is wet.
 */
function dragOf(mast, { length, rideHeight, speed }) {
  const data = mast.drag;
  const level = waterLevel(data, length, rideHeight);
  const pressure = (data.density / 2) * speed * speed;
  const places = wetPlaces(data.stations, length, level);
  const sum = { friction: 0, profile: 0, base: 0, least: 0, area: 0, moment: 0, ratio: 0 };
  for (const { at, weight } of places) {
    const chord = between(at, data.stations.at, data.stations.chord);
    const ratio = between(at, data.stations.at, data.stations.thickness) / chord;
    const tail = between(at, data.tail.at, data.tail.thickness) / chord;
    const reynolds = (speed * chord) / data.viscosity;
    const plate = plateFriction(reynolds, chord, data.roughness);
    const strip = 2 * pressure * chord * weight;
    sum.friction += strip * plate;
    sum.profile += strip * plate * (2 * ratio + 60 * ratio ** 4);
    sum.base += (strip / 2) * data.base[0] * Math.cbrt(tail ** 4 / (2 * plate));
    sum.least += strip * Math.min(plate, 1.328 / Math.sqrt(reynolds));
    sum.area += weight * chord;
    sum.moment += weight * chord * at * length;
    sum.ratio = Math.max(sum.ratio, ratio);
  }
  const { friction, profile, base } = sum;
  const spray = places.length && level > 0 ? pressure * data.spray[0] * stationThickness(data, level / length) ** 2 : 0;
  const corner = places.length ? junctionAreas(data) : { value: 0, high: 0 };
  const junction = pressure * corner.value;
  const scaled = (value, [middle, low, high]) => [(value * low) / middle, (value * high) / middle];
  const [sprayLow, sprayHigh] = scaled(spray, data.spray);
  const [baseLow, baseHigh] = scaled(base, data.base);
  return {
    total: friction + profile + spray + junction + base,
    friction,
    profile,
    spray,
    junction,
    base,
    low: sum.least + sprayLow + baseLow,
    high: data.spread * (friction + profile) + sprayHigh + baseHigh + pressure * corner.high,
    area: sum.area,
    centre: places.length ? sum.moment / sum.area : null,
    depth: length - level,
    boils: places.length ? data.cavitation / Math.sqrt(sum.ratio) : null,
  };
}

/** Place of still water along z [m], 0 to the length, by ride height where one is given or stated. */
function waterLevel(data, length, rideHeight) {
  const height = rideHeight ?? data.ride_height ?? length * (1 - data.wet_fraction);
  return Math.min(Math.max(height, 0), length);
}

/**
 * Gauss points of the part from `level` to the tip, stations being breaks of the rule.
 *
 * @returns {Array<{at: number, weight: number}>} fraction of the length, and weight [m]; none where dry.
 */
function wetPlaces({ at }, length, level) {
  if (level >= length * (1 - 1e-9)) return [];
  const inner = at.filter((share) => share * length > level && share * length < length);
  const ends = [level, ...inner.map((share) => share * length), length];
  const { t, w } = (dragRule ??= gaussPoints(DRAG_POINTS));
  return ends.slice(1).flatMap((end, k) =>
    Array.from(t, (x, i) => ({
      at: (ends[k] + ((end - ends[k]) * (x + 1)) / 2) / length,
      weight: (w[i] * (end - ends[k])) / 2,
    })),
  );
}

/** Friction coefficient of a plate on one face's area: the greater of the smooth and the fully rough line. */
function plateFriction(reynolds, chord, roughness) {
  const smooth = 0.075 / (Math.log10(Math.max(reynolds, LEAST_REYNOLDS)) - 2) ** 2;
  if (roughness <= 0) return smooth;
  const held = Math.min(Math.max(chord / roughness, 1e2), 1e6);
  return Math.max(smooth, (1.89 + 1.62 * Math.log10(held)) ** -2.5);
}

/** Thickness [m] of the mast at a fraction of the length. */
function stationThickness(data, at) {
  return between(at, data.stations.at, data.stations.thickness);
}

/** Drag where mast and fuselage meet, over dynamic pressure [m²]: value and upper end of its band. */
function junctionAreas(data) {
  const thickness = stationThickness(data, 1);
  const ratio = thickness / between(1, data.stations.at, data.stations.chord);
  const wall = Math.max(0, 0.75 * ratio - 3e-4 / ratio ** 2);
  const most = Math.max(2 * wall, 17 * ratio ** 2 - 0.05);
  return { value: wall * thickness ** 2, high: most * thickness ** 2 };
}
