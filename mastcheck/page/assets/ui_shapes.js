/* Bent masts to scale. Axes belong to the page, not to a slider's position: they stay while one moves. */

const SIDE_ROOM = 0.3; // half the width of a view, as a share of the longest mast that may be shown
const TOP = 26; // room above the board [px]
const FOOT = 34; // room below the longest mast [px]

/**
 * All three views, the words beneath and the key.
 * @param {Object} page
 * @param {Object[]} rows of `solveShown`
 */
function showShapes(page, rows) {
  const drawn = rows.filter((row) => !row.refused);
  const host = byId("shape-pictures");
  const { view: width, wide } = page.widths;
  host.replaceChildren(
    lineView(page, drawn, { width, of: 1, title: "From ahead, port to the right", alt: "Front view" }),
    lineView(page, drawn, { width, of: 0, title: "From port, aft to the right", alt: "Side view" }),
    tipView(page, drawn, wide),
  );
  byId("shape-words").textContent = shapeWords(page, rows);
  byId("shape-key").replaceChildren(...rows.map((row) =>
    el("span", {}, swatchEl(row.index), letterEl(row.mast.letter), el("bdi", {}, shortName(row.mast.name, 40)), keyNote(row))));
}

/**
 * Widths [px] that the pictures are drawn for: two views in a row on a phone, three where there is room.
 * Asking for them makes the browser lay the page out, so that it is done once for each size of window.
 */
function pictureWidths() {
  const host = byId("shape-pictures");
  const columns = getComputedStyle(host).gridTemplateColumns.split(" ").map(parseFloat);
  const view = Math.max(140, Math.round(columns[0] || 160));
  const wide = columns.length > 2 ? Math.round(columns[2]) : Math.max(view, Math.round(host.clientWidth || view));
  return { view, wide, section: byId("picture-drawing").clientWidth || 320 };
}

function keyNote(row) {
  if (row.refused) return ` (not solved: ${row.refused})`;
  return row.found.line === null ? " (no balance found: no bent shape is drawn)" : "";
}

function shapeWords(page, rows) {
  const factor = page.state.exaggeration;
  const times = factor === 1 ? "Movement is drawn to the same scale as the mast." :
    `Movement and turning are drawn ${factor} times as large as they are; the masts themselves are to scale.`;
  const lost = rows.filter((row) => !row.refused && leavesPicture(page, row)).map((row) => row.mast.letter);
  const out = lost.length ? ` ${lost.join(", ")} leaves the picture: choose a smaller exaggeration.` : "";
  return `${times} Grey: at rest. Service load, second order.${out}`;
}

/** Longest mast that may be shown [m]: the scale of every view hangs on it. */
function greatestLength(page) {
  return Math.max(...page.data.masts.map((mast) => mast.length_max));
}

function leavesPicture(page, row) {
  if (row.found.line === null) return false;
  const room = SIDE_ROOM * greatestLength(page);
  const { displacement } = row.found.line;
  const factor = page.state.exaggeration;
  return displacement.some((value, i) => i % 3 !== 2 && Math.abs(value) * factor > room);
}

/**
 * One view of the masts along their length.
 * @param {number} view.of which of x, y is across the picture (0: side view, 1: front view)
 */
function lineView(page, rows, { width, of, title, alt }) {
  const longest = greatestLength(page);
  const scale = width / (2 * SIDE_ROOM * longest); // px per m
  const height = TOP + longest * scale + FOOT;
  const to = (across, along) => [width / 2 + across * scale, TOP + along * scale];
  const clip = `clip-${of}`;
  const picture = svgEl(
    "svg",
    { class: "picture", viewBox: `0 0 ${width} ${Math.round(height)}`, role: "img", "aria-label": `${alt}. ${viewAlt(rows, page, of)}` },
    svgEl("clipPath", { id: clip }, svgEl("rect", { x: 0, y: 0, width, height: height - FOOT + 10 })),
    ...depthGrid(page, longest, to, width),
  );
  const inside = svgEl("g", { "clip-path": `url(#${clip})` });
  for (const row of rows) inside.append(bladePath(row, of, to, 0, "rest"));
  for (const row of rows) {
    if (row.found.line) inside.append(bladePath(row, of, to, page.state.exaggeration, `blade m${row.index % 8}`));
  }
  picture.append(inside, svgEl("line", { class: "board", x1: width * 0.2, x2: width * 0.8, y1: TOP, y2: TOP }));
  picture.append(...tipLetters(rows, of, to, page.state.exaggeration, width), ...movementBar(page, scale, width, height));
  return el("figure", {}, el("figcaption", {}, title), picture);
}

function viewAlt(rows, page, of) {
  const words = of === 1 ? "sideways" : "fore-aft";
  return rows.map((row) => `${row.mast.letter}: ${row.found.tip === null ? "no balance found" :
    `${words} ${quantityText(of === 1 ? row.found.tip.side : row.found.tip.foreAft, "mm", page.state.units)}`}`).join("; ");
}

/** Lines across at round distances from the base, each with its distance. */
function depthGrid(page, longest, to, width) {
  const { units } = page.state;
  const step = fromShown(niceStep(toShown(longest, "mm", units) / 4), "mm", units);
  const out = [];
  for (let z = step; z <= longest * 1.001; z += step) {
    const y = to(0, z)[1];
    out.push(svgEl("line", { class: "grid", x1: 0, x2: width, y1: y, y2: y }));
    out.push(svgEl("text", { x: 3, y: y - 3 }, statedText(z, "mm", units)));
  }
  out.push(svgEl("text", { x: width / 2, y: TOP - 9, "text-anchor": "middle" }, "board"));
  return out;
}

/** 1, 2 or 5 times a power of ten, not below half the value. */
function niceStep(value) {
  const power = 10 ** Math.floor(Math.log10(value));
  const ratio = value / power;
  return (ratio < 1.5 ? 1 : ratio < 3.5 ? 2 : ratio < 7.5 ? 5 : 10) * power;
}

/**
 * Outline of a blade along its length, bent by `factor` times what was found (0: at rest).
 * Its edges keep their distance from the stacking line: turning of the sections is shown in the tip's own view.
 */
function bladePath(row, of, to, factor, classes) {
  const { mast, length, found } = row;
  const line = factor && found.line ? found.line : null;
  const z = line ? line.z : mast.stations.map((s) => s.at * length);
  const ahead = [];
  const behind = [];
  for (let i = 0; i < z.length; i += 1) {
    const { chord, thickness } = sizesAt(mast, z[i] / length);
    const across = line ? factor * line.displacement[3 * i + of] : 0;
    const along = z[i] + (line ? factor * line.displacement[3 * i + 2] : 0);
    const [low, high] = of === 0 ? [-mast.taper_about * chord, (1 - mast.taper_about) * chord] : [-thickness / 2, thickness / 2];
    ahead.push(to(across + low, along));
    behind.push(to(across + high, along));
  }
  const points = [...ahead, ...behind.reverse()].map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`);
  return svgEl("path", { class: classes, d: `M${points.join("L")}Z` });
}

/** Chord and thickness [m] at a fraction of the length, linear between stations. */
function sizesAt(mast, at) {
  const s = mast.stations;
  let k = 0;
  while (k < s.length - 2 && at > s[k + 1].at) k += 1;
  const t = Math.min(1, Math.max(0, (at - s[k].at) / (s[k + 1].at - s[k].at)));
  const between = (key) => s[k][key] + t * (s[k + 1][key] - s[k][key]);
  return { chord: between("chord"), thickness: between("thickness") };
}

/** A letter under each bent tip, moved apart where they would cover one another. */
function tipLetters(rows, of, to, factor, width) {
  const tips = rows.filter((row) => row.found.line).map((row) => {
    const { displacement, z } = row.found.line;
    const last = 3 * (z.length - 1);
    const [x, y] = to(factor * displacement[last + of], row.length + factor * displacement[last + 2]);
    return x < 0 || x > width ? null : { letter: row.mast.letter, x: Math.min(width - 8, Math.max(8, x)), y: y + 14 };
  }).filter((tip) => tip !== null).sort((a, b) => a.x - b.x);
  for (let i = 1; i < tips.length; i += 1) {
    if (Math.abs(tips[i].y - tips[i - 1].y) < 12) tips[i].x = Math.max(tips[i].x, tips[i - 1].x + 11);
  }
  const over = tips.length ? Math.max(0, tips[tips.length - 1].x - (width - 6)) : 0;
  return tips.map(({ letter, x, y }) => svgEl("text", { class: "strong", x: x - over, y, "text-anchor": "middle" }, letter));
}

/** How large a movement is drawn: a bar of a round size. */
function movementBar(page, scale, width, height) {
  const { units, exaggeration } = page.state;
  const room = (0.4 * width) / (scale * exaggeration);
  const shown = niceStep(toShown(room, "mm", units) * 0.7);
  const size = fromShown(shown, "mm", units) * scale * exaggeration;
  const y = height - 6;
  const x = width - 6 - size;
  return [
    svgEl("path", { class: "bar", d: `M${x} ${y - 4}V${y}H${x + size}V${y - 4}` }),
    svgEl("text", { x: width - 6, y: y - 8, "text-anchor": "end" }, `${givenText(shown)} ${unitLabel("mm", units)} of movement`),
  ];
}

/** The tip's section turned by the twist, seen from the board. */
function tipView(page, rows, width) {
  const reach = Math.max(...page.data.masts.flatMap((m) => m.tip_outline.map(([x]) => Math.abs(x)))) * 1.12;
  const scale = width / (2 * reach);
  const height = Math.round(Math.min(width * 0.75, 260));
  const to = ([x, y]) => [width / 2 + x * scale, height / 2 + y * scale];
  const picture = svgEl("svg", {
    class: "picture", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": `Twist of the tip. ${twistAlt(rows, page)}`,
  });
  for (const row of rows) picture.append(outlinePath(row.mast.tip_outline, to, 0, "rest"));
  for (const row of rows) {
    if (row.found.tip === null) continue;
    const angle = row.found.tip.twist * page.state.exaggeration;
    picture.append(outlinePath(row.mast.tip_outline, to, angle, `blade m${row.index % 8}`));
  }
  const letters = rows.filter((row) => row.found.tip).map((row, i) =>
    svgEl("text", { class: "strong", x: 6, y: 14 + 14 * i }, `${row.mast.letter} ${quantityText(row.found.tip.twist, "deg", page.state.units)}`));
  picture.append(...letters, svgEl("circle", { cx: width / 2, cy: height / 2, r: 2 }));
  picture.append(svgEl("text", { x: width - 6, y: height - 6, "text-anchor": "end" }, "aft →"));
  const factor = page.state.exaggeration;
  const times = factor === 1 ? "" : `, turned ${factor} times as far`;
  return el("figure", { class: "wide" }, el("figcaption", {}, `Twist of the tip, from the board${times}`), picture);
}

function twistAlt(rows, page) {
  return rows.map((row) => `${row.mast.letter}: ${row.found.tip === null ? "no balance found" :
    quantityText(row.found.tip.twist, "deg", page.state.units)}`).join("; ");
}

function outlinePath(outline, to, angle, classes) {
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  const points = outline.map(([x, y]) => to([c * x - s * y, s * x + c * y]).map((v) => v.toFixed(1)).join(" "));
  return svgEl("path", { class: classes, d: `M${points.join("L")}Z` });
}

/** Choice of the exaggeration. */
function buildShapeControls(page, changed) {
  const radios = EXAGGERATIONS.map((factor) => {
    const radio = el("input", { type: "radio", name: "exaggeration", id: `x-${factor}`, value: factor });
    radio.addEventListener("change", () => {
      page.state.exaggeration = factor;
      changed();
    });
    return radio;
  });
  byId("shape-controls").append(el(
    "fieldset", {}, el("legend", {}, "Draw movement"),
    el("div", { class: "choices" }, ...radios.map((r) => el("label", { for: r.id }, r, r.value === "1" ? "true to scale" : `× ${r.value}`))),
  ));
  return { refresh: () => radios.forEach((r) => { r.checked = Number(r.value) === page.state.exaggeration; }) };
}
