/* What the reader has chosen: SI values, null where each file's own holds; and the link that keeps it. */

const EXAGGERATIONS = [1, 2, 5, 10, 20];

/**
 * The sliders: key of the state, words, unit, what a null means, letter in the link, step in display units.
 */
const CONTROLS = [
  { key: "length", name: "Length", unit: "mm", own: "each mast’s own", letter: "l", step: { metric: 1, imperial: 0.05 } },
  { key: "riderMass", name: "Rider", unit: "kg", own: "as in the full check", letter: "m", step: { metric: 0.5, imperial: 1 } },
  { key: "loadFactor", name: "Load factor", unit: "", own: "as the case says", letter: "n", step: { metric: 0.05, imperial: 0.05 } },
  { key: "rideHeight", name: "Ride height", unit: "mm", own: "as in the full check", letter: "h", step: { metric: 1, imperial: 0.05 } },
  { key: "speed", name: "Speed", unit: "m/s", own: null, letter: "s", step: { metric: 0.1, imperial: 0.1 } },
];

/**
 * Least and greatest value of a control [SI] over all masts of the page.
 * @param {Object} data the data block
 * @param {string} key
 * @returns {[number, number]}
 */
function controlRange(data, key) {
  const masts = data.masts;
  const most = (f) => Math.max(...masts.map(f));
  const least = (f) => Math.min(...masts.map(f));
  switch (key) {
    case "length":
      return [least((m) => m.length_min), most((m) => m.length_max)];
    case "riderMass":
      return [Math.min(30, least((m) => m.rider.mass)), Math.max(150, most((m) => m.rider.mass))];
    case "loadFactor":
      return [0, Math.max(5, most((m) => Math.max(0, ...m.cases.map((c) => c.n))))];
    case "rideHeight":
      return [0, most((m) => m.length_max)];
    default:
      return [data.speeds[0], data.speeds[1]];
  }
}

/** What a control stands at where each file's own value holds: that of the given mast. */
function ownValue(mast, state, key) {
  switch (key) {
    case "length":
      return mast.length;
    case "riderMass":
      return mast.rider.mass;
    case "loadFactor": {
      const found = mast.cases.find((c) => c.name === state.caseName);
      return found ? found.n : 1;
    }
    default:
      return mast.ride_height === null ? (1 - mast.wet_fraction) * (state.length ?? mast.length) : mast.ride_height;
  }
}

/** Names and titles of all load cases, each once, in the order of the masts. */
function allCases(data) {
  const found = new Map();
  for (const mast of data.masts) for (const c of mast.cases) if (!found.has(c.name)) found.set(c.name, c.title);
  return [...found].map(([name, title]) => ({ name, title }));
}

/** The exaggeration at which the movement found by the full check fills a good part of the picture. */
function openingExaggeration(data, caseName) {
  const found = data.masts.flatMap((m) => m.checked.cases.filter((_, i) => m.cases[i].name === caseName));
  const most = Math.max(0, ...found.filter((c) => c.stable).map((c) => Math.hypot(c.side, c.fore_aft)));
  if (most === 0) return 1;
  const room = 0.2 * Math.max(...data.masts.map((m) => m.length));
  return EXAGGERATIONS.filter((factor) => factor * most <= room).pop() ?? 1;
}

/** How many solved stations a mast has. */
function stationCount(mast) {
  return mast.beam.at.length;
}

/** The state in which the page opens: every value as the files say. */
function openingState(data) {
  const names = allCases(data).map((c) => c.name);
  const caseName = names.includes("carve") ? "carve" : names[0] ?? "";
  return {
    length: null,
    riderMass: null,
    loadFactor: null,
    rideHeight: null,
    speed: data.speed,
    caseName,
    masts: data.masts.map(() => true),
    units: data.units,
    exaggeration: openingExaggeration(data, caseName),
    pictureMast: 0,
    station: null,
    thick: false,
  };
}

/** The state as the part of a link after '#': only what differs from how the page opens. */
function stateToHash(data, state) {
  const parts = [];
  const opening = openingState(data);
  for (const { key, letter } of CONTROLS) {
    if (state[key] !== null && state[key] !== opening[key]) parts.push([letter, String(state[key])]);
  }
  if (state.caseName !== opening.caseName) parts.push(["c", state.caseName]);
  if (state.masts.includes(false)) {
    parts.push(["k", state.masts.flatMap((on, i) => (on ? [i + 1] : [])).join(".")]);
  }
  if (state.units !== opening.units) parts.push(["u", state.units]);
  if (state.exaggeration !== opening.exaggeration) parts.push(["x", String(state.exaggeration)]);
  if (state.pictureMast !== 0) parts.push(["p", String(state.pictureMast + 1)]);
  if (state.station !== null) parts.push(["t", String(state.station)]);
  if (state.thick) parts.push(["w", "3"]);
  return parts.map(([k, v]) => `${k}=${encodeURIComponent(v)}`).join("&");
}

/**
 * The state a link asks for, and what of it could not be used, in words. Nothing in a link is trusted.
 * @returns {{state: Object, faults: string[]}}
 */
function stateFromHash(data, hash) {
  const state = openingState(data);
  const faults = [];
  const asked = new URLSearchParams(hash.replace(/^#/, "").replace(/\+/g, "%2B"));
  const refuse = (words) => faults.push(`Not used from the link: ${words}.`);
  for (const { key, name, letter } of CONTROLS) {
    if (!asked.has(letter)) continue;
    const value = parseNumber(asked.get(letter));
    const [low, high] = controlRange(data, key);
    if (value >= low * (1 - 1e-9) && value <= high * (1 + 1e-9)) state[key] = value;
    else refuse(`${name.toLowerCase()} outside the range of this page`);
  }
  if (asked.has("c")) {
    if (allCases(data).some((c) => c.name === asked.get("c"))) state.caseName = asked.get("c");
    else refuse("a load case that no mast here has");
  }
  if (asked.has("k")) chooseMasts(data, state, asked.get("k"), refuse);
  if (["metric", "imperial"].includes(asked.get("u"))) state.units = asked.get("u");
  const factor = Number(asked.get("x"));
  if (EXAGGERATIONS.includes(factor)) state.exaggeration = factor;
  const picture = wholeNumber(asked.get("p"), 1, data.masts.length);
  if (picture !== null) state.pictureMast = picture - 1;
  state.station = wholeNumber(asked.get("t"), 0, stationCount(data.masts[state.pictureMast]) - 1);
  state.thick = asked.get("w") === "3";
  return { state, faults };
}

function chooseMasts(data, state, text, refuse) {
  const wanted = new Set(text.split("."));
  const on = data.masts.map((_, i) => wanted.has(String(i + 1)));
  if (on.includes(true)) state.masts = on;
  else refuse("a choice of masts that leaves none");
}

/** A whole number between two others, else null. */
function wholeNumber(text, low, high) {
  if (text === null || !/^\d{1,4}$/.test(text)) return null;
  const value = Number(text);
  return value >= low && value <= high ? value : null;
}
