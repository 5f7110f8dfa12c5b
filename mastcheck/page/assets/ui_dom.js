/* Elements made by hand: words from a mast file only ever become text nodes. */

const SVG_SPACE = "http://www.w3.org/2000/svg";

/**
 * An HTML element. A string among the children becomes a text node, never markup.
 * @param {string} tag
 * @param {Object<string, string|number|boolean|null>} [attributes] null and false are left out
 * @param {...(Node|string|null)} children
 * @returns {HTMLElement}
 */
function el(tag, attributes, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

/**
 * An SVG element; otherwise as `el`.
 * @param {string} tag
 * @param {Object<string, string|number|boolean|null>} [attributes]
 * @param {...(Node|string|null)} children
 * @returns {SVGElement}
 */
function svgEl(tag, attributes, ...children) {
  return filled(document.createElementNS(SVG_SPACE, tag), attributes, children);
}

function filled(node, attributes, children) {
  for (const [key, value] of Object.entries(attributes || {})) {
    if (value !== null && value !== false && value !== undefined) {
      node.setAttribute(key, value === true ? "" : String(value));
    }
  }
  node.append(...children.filter((child) => child !== null && child !== undefined));
  return node;
}

/**
 * The element of an id, which the template holds.
 * @param {string} id
 * @returns {HTMLElement}
 */
function byId(id) {
  return document.getElementById(id);
}

/** A verdict as a sign and a word, so that colour alone never tells it. */
function chipEl(state, word) {
  const sign = { good: "✓", bad: "✕", open: "–" }[state];
  return el("span", { class: `chip ${state}` }, el("span", { "aria-hidden": "true" }, sign), ` ${word}`);
}

/** A mast's line as it is drawn, for keys. */
function swatchEl(index) {
  return svgEl(
    "svg",
    { class: "swatch", viewBox: "0 0 34 12", "aria-hidden": "true" },
    svgEl("line", { x1: 1, x2: 33, y1: 6, y2: 6, "stroke-width": 3, class: `m${index % 8}` }),
  );
}

/** The boxed letter a mast goes by. */
function letterEl(letter) {
  return el("span", { class: "letter" }, letter);
}

/**
 * A function that waits until it has not been called for a while.
 * @param {function(): void} work
 * @param {number} wait [ms]
 * @returns {function(): void}
 */
function whenQuiet(work, wait) {
  let timer = 0;
  return () => {
    clearTimeout(timer);
    timer = setTimeout(work, wait);
  };
}

/** A function that runs once before the next frame, however often it is called. */
function oncePerFrame(work) {
  let waiting = false;
  return () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      work();
    });
  };
}
