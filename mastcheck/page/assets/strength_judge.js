"use strict";
// The worst of a case over all stations, by every strength criterion: as `checks/governing.py` has it.

// Criteria of which every material keeps its own worst; of the others the worst of all is kept.
const EACH_MATERIAL = ["von Mises stress", "core shear stress", "greatest ply strain"];

/**
 * Judges resultants at all stations of a mast.
 *
 * @param {object} mast data of one mast.
 * @param {ArrayLike<number>} resultants stations x 7, flat: N, Vx, Vy, Mx, My, T, B at the stacking line,
 *     of loads times the strength factor [N, N m, N m²].
 * @returns {object} `utilisation`: the largest over all stations and criteria, null where a station has
 *     no material with a stated strength. `station` (index), `point` [m], `criterion` and `material` of
 *     it; where nothing is judged those of the greatest von Mises stress. `alongZ`: the largest of each
 *     station (Float64Array), null where nothing is judged. `governing`: {station, point, material,
 *     vonMises [Pa]} of the greatest utilisation by the material criteria, which a picture shows.
 *     `findings`: the worst of each criterion: {criterion, material, value, limit|null, unit,
 *     utilisation|null, station, point, where}, value and limit in `unit`.
 */
function judge(mast, resultants) {
  const sections = strengthSections(mast);
  const stations = mast.strength.at.map((k, station) =>
    judgeStation(sections[k], resultants, station),
  );
  const judged = stations.every((s) => !Number.isNaN(s.used));
  let governing = stations[0];
  for (const s of stations) {
    if (judged ? s.used > governing.used : s.vonMises > governing.vonMises) governing = s;
  }
  const alongZ = judged ? Float64Array.from(stations, stationLargest) : null;
  const findings = worstFindings(stations.flatMap((s) => s.findings), mast.strength.criteria);
  const place = {
    station: governing.station,
    point: governing.point,
    material: governing.material,
    vonMises: governing.vonMises,
  };
  let worst = { ...place, criterion: EACH_MATERIAL[0] };
  if (judged) worst = findings.reduce((a, b) => ((b.utilisation ?? -1) > (a.utilisation ?? -1) ? b : a));
  return {
    utilisation: judged ? alongZ.reduce((a, b) => Math.max(a, b)) : null,
    station: worst.station,
    point: worst.point,
    criterion: worst.criterion,
    material: worst.material,
    alongZ,
    governing: place,
    findings,
  };
}

/** The largest utilisation of a station over all its criteria. */
function stationLargest(station) {
  return station.findings.reduce((most, f) => Math.max(most, f.utilisation ?? 0), station.used);
}

/**
 * One station: utilisation `used` at the worst point by the material criteria (NaN: nothing is judged,
 * then the point of greatest von Mises stress), `vonMises` [Pa], `point` and `material` there, `findings`.
 */
function judgeStation(section, resultants, station) {
  strengthStress(section, resultants, 7 * station);
  strengthUsed(section);
  const { sigma, tau, used, points } = section;
  const judged = used.some((u) => !Number.isNaN(u));
  let worst = 0;
  let greatest = -1;
  for (let p = 0; p < used.length; p++) {
    const value = judged ? used[p] : vonMises(sigma[p], tau[p]);
    if (value > greatest) [worst, greatest] = [p, value];
  }
  return {
    station,
    used: judged ? greatest : NaN,
    vonMises: vonMises(sigma[worst], tau[worst]),
    point: [points[2 * worst], points[2 * worst + 1]],
    material: section.materials.find((m) => worst < m.end).name,
    findings: [...materialFindings(section, station), ...faceFindings(section, resultants, station)],
  };
}

/** The worst point of each material of a station by each of its criteria. */
function materialFindings(section, station) {
  const out = [];
  let start = 0;
  for (const material of section.materials) {
    const here = { section, station, start, end: material.end };
    const { strength, shear, core, name } = material;
    const { sigma, tau } = section;
    if (material.wall !== null) {
      out.push(...wallFindings(here, material));
    } else {
      if (!core || strength !== null) {
        const stress = (p) => vonMises(sigma[p], tau[p]);
        out.push(stressFinding(here, "von Mises stress", name, stress, strength));
      }
      if (core) out.push(stressFinding(here, "core shear stress", name, (p) => tau[p], shear));
    }
    start = material.end;
  }
  return out;
}

/** The point of points start to end at which a value is greatest, the first of equals: {p, value}. */
function greatestAt({ start, end }, value) {
  let best = { p: start, value: value(start) };
  for (let p = start + 1; p < end; p++) {
    const here = value(p);
    if (here > best.value) best = { p, value: here };
  }
  return best;
}

/** A finding of a stress [Pa] against its limit [Pa] or null, in MPa. */
function stressFinding(here, criterion, material, stress, limit) {
  const { p, value } = greatestAt(here, stress);
  return {
    criterion,
    material,
    value: value / 1e6,
    limit: limit === null ? null : limit / 1e6,
    unit: "MPa",
    utilisation: limit === null ? null : value / limit,
    ...placed(here, p, ""),
  };
}

/** Station, point [m] and words of a place in a material. */
function placed({ section, station }, p, where) {
  const [x, y] = [section.points[2 * p], section.points[2 * p + 1]];
  const [first, last] = section.chord;
  const share = (100 * (x - first)) / (last - first);
  const side = y >= 0 ? "port" : "starboard";
  const place = `at ${Math.abs(share).toFixed(0)}% of the chord, ${side}`;
  return { station, point: [x, y], where: where ? `${where}, ${place}` : place };
}

/** Worst ply of a laminate by each criterion, and the greatest strain where no strengths are stated. */
function wallFindings(here, { name, wall }) {
  const { sigma, tau } = here.section;
  const at = (measure) => (p) => measure(sigma[p] / wall.E, tau[p] / wall.G);
  const out = [];
  if (wall.plies.length > 0) {
    const strained = worstPly(here, wall.plies, (ply) => at((e, g) => plyStrained(ply, e, g)));
    out.push(strainFinding(here, name, wall, strained));
    const { ply, p, value } = worstPly(here, wall.plies, (each) => at((e, g) => plyTsaiWu(each, e, g)));
    out.push({
      criterion: "first ply, Tsai-Wu",
      material: name,
      value,
      limit: 1,
      unit: "",
      utilisation: value,
      ...placed(here, p, ply.where),
    });
  }
  for (const lamina of new Set(wall.silent.map((ply) => ply.name))) {
    const plies = wall.silent.filter((ply) => ply.name === lamina);
    const { ply, p, value } = worstPly(here, plies, (each) => at((e, g) => plyStretched(each, e, g)));
    out.push({
      criterion: "greatest ply strain",
      material: lamina,
      value,
      limit: null,
      unit: "%",
      utilisation: null,
      ...placed(here, p, ply.where),
    });
  }
  return out;
}

// What is greater by less is equal but for rounding, and the first is named (as in mastcheck/ties.py).
const SAME = 1e-9;

/** The ply and the point at which a measure is greatest, the first of equals: {ply, p, value}. */
function worstPly(here, plies, measure) {
  let worst = null;
  for (const ply of plies) {
    const found = greatestAt(here, measure(ply));
    if (worst === null || found.value > worst.value * (1 + SAME)) worst = { ply, ...found };
  }
  return worst;
}

/** The greatest strain [%] of a ply in any direction and state. */
function plyStretched(ply, e, g) {
  const rows = ply.linear;
  let worst = 0;
  for (let i = 0; i < rows.length; i += 2) {
    worst = Math.max(worst, Math.abs(rows[i] * e + rows[i + 1] * g));
  }
  return worst;
}

/** Maximum strain in the governing direction of the worst ply: strain against what is allowed, in percent. */
function strainFinding(here, material, wall, { ply, p, value }) {
  const { sigma, tau } = here.section;
  const [e, g] = [sigma[p] / wall.E, tau[p] / wall.G];
  // Rows: state by state, axis by axis, tension then compression.
  let row = 0;
  let worst = -1;
  for (let i = 0; i < ply.linear.length / 2; i++) {
    const used = ply.linear[2 * i] * e + ply.linear[2 * i + 1] * g;
    if (used > worst + SAME * Math.abs(worst)) [row, worst] = [i, used];
  }
  const axis = Math.floor(row / 2) % 3;
  const limit = ply.allowed[axis][row % 2];
  const way = ["along the fibres", "across the fibres", "in shear"][axis];
  const sense = axis === 2 ? "" : row % 2 === 0 ? ", tension" : ", compression";
  return {
    criterion: "first ply, maximum strain",
    material,
    value: value * limit,
    limit,
    unit: "%",
    utilisation: value,
    ...placed(here, p, `${ply.where}, ${way}${sense}`),
  };
}

/** Wrinkling over cores and plate buckling over voids; faces without compression are left out. */
function faceFindings(section, resultants, station) {
  const out = [];
  const B = resultants[7 * station + 6];
  for (const { criterion, material, where, limit, of, places } of section.faces) {
    const [a, b, c] = bendingStress(section.materials[of].bending, resultants, 7 * station);
    let worst = { sigma: 0, point: null };
    for (let i = 0; i < places.length; i += 3) {
      const sigma = a + b * places[i] + c * places[i + 1] + B * places[i + 2];
      if (sigma < worst.sigma) worst = { sigma, point: [places[i], places[i + 1]] };
    }
    if (worst.point === null) continue;
    out.push({
      criterion,
      material,
      value: -worst.sigma / 1e6,
      limit: limit === null ? null : limit / 1e6,
      unit: "MPa",
      utilisation: limit === null ? null : -worst.sigma / limit,
      station,
      point: worst.point,
      where,
    });
  }
  return out;
}

/**
 * The worst of each criterion (and material), in the order of the criteria, worst first. What cannot be
 * judged keeps a finding of its own beside what can, so that it is not hidden.
 *
 * @param {Array<object>} found findings of all stations, base to tip.
 * @param {Array<string>} order criteria in the order in which they are listed.
 */
function worstFindings(found, order) {
  const size = (f) => f.utilisation ?? f.value;
  const worst = new Map();
  for (const f of found) {
    const own = EACH_MATERIAL.includes(f.criterion) || f.utilisation === null;
    const key = JSON.stringify([f.criterion, own ? f.material : ""]);
    if (!worst.has(key) || size(f) > size(worst.get(key))) worst.set(key, f);
  }
  const rank = (f) => order.indexOf(f.criterion);
  return [...worst.values()].sort(
    (a, b) => rank(a) - rank(b) || (b.utilisation ?? 0) - (a.utilisation ?? 0),
  );
}
