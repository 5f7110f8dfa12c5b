/* Numbers as people read them. Everything inside is SI; metric units of the trade are the base of display. */

/** Imperial unit of each metric one: what a metric value is multiplied by, and its label. */
const IMPERIAL = {
  "mm": [1 / 25.4, "in"],
  "m": [1 / 0.3048, "ft"],
  "kg": [1 / 0.45359237, "lb"],
  "N": [1 / 4.4482216152605, "lbf"],
  "N·m": [1 / 1.3558179483314, "lbf·ft"],
  "MPa": [(25.4 * 25.4) / 4.4482216152605 / 1000, "ksi"],
  "m/s": [3600 / 1852, "kn"],
};

/** Metric display unit of SI ones: what an SI value is multiplied by. */
const FROM_SI = { "mm": 1e3, "deg": 180 / Math.PI, "kg": 1, "N": 1, "MPa": 1e-6, "m/s": 1, "%": 100, "": 1 };

/**
 * What a value in a metric unit is multiplied by for display.
 * @param {string} unit
 * @param {"metric"|"imperial"} system
 */
function displayFactor(unit, system) {
  return system === "imperial" && unit in IMPERIAL ? IMPERIAL[unit][0] : 1;
}

/** The label under which a metric unit is shown. */
function unitLabel(unit, system) {
  if (unit === "deg") return "°";
  return system === "imperial" && unit in IMPERIAL ? IMPERIAL[unit][1] : unit;
}

/**
 * A number to so many significant figures; without exponents where that stays readable.
 * @param {number|null} value
 * @param {number} [digits]
 * @param {number} [places] decimal places at most
 */
function numberText(value, digits = 3, places = 6) {
  if (value === null || value === undefined || Number.isNaN(value)) return "–";
  if (!Number.isFinite(value)) return "none";
  if (value === 0 || (places < 6 && Number(value.toFixed(places)) === 0)) return "0";
  const size = Math.floor(Math.log10(Math.abs(Number(value.toExponential(digits - 1)))));
  if (size < -4 || size > 8) return value.toExponential(digits - 1).replace("-", "−");
  const fixed = value.toFixed(Math.min(Math.max(digits - 1 - size, 0), places));
  const [whole, part] = fixed.split(".");
  const grouped = whole.replace(/\B(?=(\d{3})+(?!\d))/g, " ");
  return (part === undefined ? grouped : `${grouped}.${part}`).replace("-", "−");
}

/**
 * An SI value in display units, with the label.
 * @param {number|null} value SI
 * @param {string} unit metric display unit
 * @param {"metric"|"imperial"} system
 */
function quantityText(value, unit, system) {
  return withLabel(shownText(value, unit, system), unit, system);
}

function withLabel(text, unit, system) {
  const label = unitLabel(unit, system);
  if (text === "–" || text === "none" || !label) return text;
  return label === "°" ? `${text}°` : `${text} ${label}`;
}

/** Most decimal places: finer digits of a movement are what arithmetic leaves. */
function mostPlaces(unit, system) {
  return unit === "mm" ? { metric: 2, imperial: 3 }[system] : unit === "deg" ? 2 : 6;
}

/** An SI value in display units, without the label. */
function shownText(value, unit, system) {
  if (value === null || value === undefined) return "–";
  return numberText(toShown(value, unit, system), 3, mostPlaces(unit, system));
}

/** An input in display units, as a person states it, with the label. */
function statedText(value, unit, system) {
  return withLabel(givenText(toShown(value, unit, system)), unit, system);
}

/** A number as a person states it: exact up to six figures, else to four; no idle zeros. */
function givenText(value) {
  const exact = Math.abs(Number(value.toPrecision(6)) - value) <= 1e-9 * Math.abs(value);
  return String(Number(value.toPrecision(exact ? 6 : 4))).replace("-", "−");
}

/** SI of a number as it stands in a box. */
function fromShown(value, unit, system) {
  return value / (FROM_SI[unit] * displayFactor(unit, system));
}

/** The number of an SI value as it stands in a box. */
function toShown(value, unit, system) {
  return value * FROM_SI[unit] * displayFactor(unit, system);
}

/** A number for a box: at most five figures, no grouping, no idle zeros. */
function boxText(value) {
  return String(Number(value.toPrecision(5))).replace("-", "−");
}

/**
 * A number as typed, with a point or a comma for decimals; NaN for anything else.
 * @param {string} text
 */
function parseNumber(text) {
  const plain = text.trim().replace("−", "-").replace(",", ".");
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d{1,3})?$/i.test(plain) ? Number(plain) : NaN;
}

/** Every quantity of the fixed part of the page in the reader's units. */
function showFixedQuantities(system) {
  for (const node of document.querySelectorAll("span.q")) {
    const { v, u, stated } = node.dataset;
    const value = Number(v) * displayFactor(u, system);
    node.textContent = withLabel(stated === undefined ? numberText(value, 3, mostPlaces(u, system)) : givenText(value), u, system);
  }
}
