/* The section at a chosen station, coloured by what its stress uses, to a fixed scale. */

/** Ten steps from pale to deep, and one for what is over its limit. They differ in lightness, not in hue alone. */
const STEPS = ["#eef3f4", "#d9e6ea", "#c0d8df", "#a3c7d3", "#84b3c5", "#649db5", "#4686a3", "#2d6e8e", "#1b5676", "#0f3d5c"];
const OVER = "#c2410c";
const NOT_JUDGED = "#d8d4cc";
const THICKER = 3; // how many times the thickness may be drawn

/** Choice of mast and station. */
function buildPictureControls(page, changed) {
  const host = byId("picture-controls");
  const mast = el("select", { id: "picture-mast" });
  page.data.masts.forEach((m, i) => mast.append(el("option", { value: i }, `${m.letter}  ${shortName(m.name, 40)}`)));
  mast.addEventListener("change", () => {
    Object.assign(page.state, { pictureMast: Number(mast.value), station: null });
    changed();
  });
  const station = el("input", { type: "range", min: 0, step: 1, id: "picture-station" });
  station.addEventListener("input", () => {
    page.state.station = Number(station.value);
    changed();
  });
  const follow = tickBox("picture-follow", "where it governs", (on) => {
    page.state.station = on ? null : Number(station.value);
    changed();
  });
  const thick = tickBox("picture-thick", `draw the thickness ${THICKER} times`, (on) => {
    page.state.thick = on;
    changed();
  });
  const several = page.data.masts.length > 1;
  host.append(
    ...(several ? [el("div", {}, el("label", { for: "picture-mast", class: "name" }, "Mast"), mast)] : []),
    el("div", { class: "control" }, el("label", { for: "picture-station" }, "Station, base to tip"), station),
    el("div", { class: "choices" }, follow.label, thick.label),
  );
  return {
    refresh: (shown) => {
      mast.value = String(page.state.pictureMast);
      station.max = String(stationCount(page.data.masts[page.state.pictureMast]) - 1);
      station.value = String(shown.station);
      station.setAttribute("aria-valuetext", shown.words);
      follow.box.checked = page.state.station === null;
      thick.box.checked = page.state.thick;
    },
  };
}

function tickBox(id, words, done) {
  const box = el("input", { type: "checkbox", id });
  box.addEventListener("change", () => done(box.checked));
  return { box, label: el("label", { for: id }, box, words) };
}

/**
 * Draw the chosen section.
 * @returns {{station: number, words: string}} where it is
 */
function showPicture(page) {
  const mast = page.data.masts[page.state.pictureMast];
  const row = { mast, ...solveMast(mast, page.state) };
  const at = mast.beam.at;
  const governs = row.judged?.station ?? null;
  const station = Math.min(page.state.station ?? governs ?? 0, at.length - 1);
  const place = quantityText(at[station] * (row.length ?? mast.length), "mm", page.state.units);
  const words = `station ${station + 1} of ${at.length}, ${place} from the base`;
  const host = byId("picture-drawing");
  if (row.refused || !row.found.stable) {
    host.replaceChildren();
    byId("findings").replaceChildren();
    byId("picture-words").textContent = `Mast ${mast.letter}: ${row.refused ? `not solved, ${row.refused}` : "unstable, no balance found: no stress to show"}.`;
    return { station, words };
  }
  showFindings(page, row);
  const resultants = row.found.strengthResultants.slice(7 * station, 7 * station + 7);
  const field = fieldAt(mast, station, resultants);
  const mark = governs === station ? row.judged.point : null;
  if (field === null) {
    host.replaceChildren();
    byId("picture-words").textContent = `Mast ${mast.letter}: its stress picture found no room in this page; choose fewer masts.`;
    return { station, words };
  }
  const scale = colourScale(mast, page, field);
  host.replaceChildren(
    sectionSvg(page, field, scale, mark, page.widths.section, `Mast ${mast.letter}, ${words}. ${scale.words}`),
  );
  byId("picture-words").textContent = pictureWords(mast, row, words, scale, mark, page);
  return { station, words };
}

function pictureWords(mast, row, words, scale, mark, page) {
  const { criterion, material, utilisation, z } = governingOf(row);
  const used = utilisation === null ? "" : `: ${percentText(utilisation)} % used`;
  const where = mark ? "It is marked by a ring." : `It governs at ${quantityText(z, "mm", page.state.units)} from the base.`;
  const thick = page.state.thick ? ` Thickness drawn ${THICKER} times.` : " Drawn to scale.";
  return `Mast ${mast.letter}, ${words}, at loads times the strength factor. Colour: ${scale.words}. ` +
    `Governing: ${criterion}, ${material}${used}. ${where}${thick}`;
}

/**
 * The scale of colours: it belongs to the mast and not to a slider's position.
 * @returns {{words: string, top: number, over: boolean, label: function(number): string, unit: string}} `top`: value of the last step
 */
function colourScale(mast, page, field) {
  const { units } = page.state;
  if (field.by === "utilisation") {
    return { words: "share of the strength used, 100 % is the limit", top: 1, over: true, unit: "%", label: (v) => givenText(100 * v) };
  }
  const label = (v) => numberText(v * 1e-6 * displayFactor("MPa", units));
  const unit = unitLabel("MPa", units);
  if (field.limit) {
    return { words: `von Mises stress, up to the design strength of ${quantityText(field.limit, "MPa", units)}`, top: field.limit, over: true, unit, label };
  }
  const most = Math.max(1e6, ...mast.checked.cases.map((c) => c.max_von_mises ?? 0));
  return { words: "von Mises stress; no strength is stated to judge it by", top: niceStep(most), over: false, unit, label };
}

/** Section, colour bar and governing point. */
function sectionSvg(page, field, scale, mark, width, alt) {
  const stretch = page.state.thick ? THICKER : 1;
  const box = bounds(field.points);
  const margin = 14;
  const perMetre = (width - 2 * margin) / (box.x1 - box.x0);
  const tall = (box.y1 - box.y0) * perMetre * stretch;
  const to = (x, y) => [margin + (x - box.x0) * perMetre, margin + (box.y1 - y) * perMetre * stretch];
  const height = Math.round(tall + 2 * margin + 58);
  const picture = svgEl("svg", { class: "picture stress", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": alt });
  picture.append(...colouredTriangles(field, scale, to), ...edgePath(field, to));
  if (mark) {
    const [x, y] = to(mark[0], mark[1]);
    for (const kind of ["mark under", "mark"]) picture.append(svgEl("circle", { class: kind, cx: x, cy: y, r: 7 }));
  }
  picture.append(svgEl("text", { x: margin, y: tall + 2 * margin + 4 }, "← ahead"));
  picture.append(svgEl("text", { x: width - margin, y: tall + 2 * margin + 4, "text-anchor": "end" }, "aft →"));
  picture.append(...colourBar(scale, margin, tall + 2 * margin + 14, width - 2 * margin));
  return picture;
}

function bounds(points) {
  const box = { x0: Infinity, x1: -Infinity, y0: Infinity, y1: -Infinity };
  for (let i = 0; i < points.length; i += 2) {
    box.x0 = Math.min(box.x0, points[i]);
    box.x1 = Math.max(box.x1, points[i]);
    box.y0 = Math.min(box.y0, points[i + 1]);
    box.y1 = Math.max(box.y1, points[i + 1]);
  }
  return box;
}

/** One path a colour: a few thousand triangles, cut where a step of the scale crosses them. */
function colouredTriangles(field, scale, to) {
  const { points, triangles, value } = field;
  const parts = new Map();
  const add = (colour, corners) => {
    if (!parts.has(colour)) parts.set(colour, []);
    parts.get(colour).push(`M${corners.map(([x, y]) => `${x.toFixed(2)} ${y.toFixed(2)}`).join("L")}Z`);
  };
  for (let k = 0; k < triangles.length; k += 3) {
    const corners = [0, 1, 2].map((j) => {
      const i = triangles[k + j];
      return [...to(points[2 * i], points[2 * i + 1]), (value[i] / scale.top) * STEPS.length];
    });
    if (corners.some((corner) => Number.isNaN(corner[2]))) add(NOT_JUDGED, corners);
    else for (const [step, piece] of bands(corners, scale.over ? STEPS.length : STEPS.length - 1)) add(step >= STEPS.length ? OVER : STEPS[step], piece);
  }
  // A hair of stroke in the fill's own colour closes the seams between pieces.
  return [...parts].map(([colour, d]) => svgEl("path", { d: d.join(""), fill: colour, stroke: colour, "stroke-width": 0.4 }));
}

/**
 * A triangle cut into pieces that each lie within one step; values are linear across it.
 * @param {number[][]} corners x, y and value in steps
 * @param {number} last the step that takes all that is above it
 * @returns {Array<[number, number[][]]>} step and corners of its piece
 */
function bands(corners, last) {
  const values = corners.map((corner) => corner[2]);
  const first = Math.max(0, Math.min(last, Math.floor(Math.min(...values))));
  const end = Math.max(0, Math.min(last, Math.floor(Math.max(...values))));
  const out = [];
  let rest = corners;
  for (let step = first; step < end && rest.length; step += 1) {
    out.push([step, cut(rest, step + 1, -1)]);
    rest = cut(rest, step + 1, 1);
  }
  out.push([end, rest]);
  return out.filter(([, piece]) => piece.length > 2);
}

/** The part of a convex polygon below (side -1) or above (side 1) a value. */
function cut(corners, level, side) {
  const out = [];
  corners.forEach((a, i) => {
    const b = corners[(i + 1) % corners.length];
    const [da, db] = [side * (a[2] - level), side * (b[2] - level)];
    if (da >= 0) out.push(a);
    if (da > 0 ? db < 0 : da < 0 && db > 0) {
      const t = da / (da - db);
      out.push([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), level]);
    }
  });
  return out;
}

/** Boundaries of the materials. */
function edgePath({ points, edges }, to) {
  const place = (i) => to(points[2 * i], points[2 * i + 1]).map((v) => v.toFixed(2)).join(" ");
  const parts = [];
  for (let k = 0; k < edges.length; k += 2) parts.push(`M${place(edges[k])}L${place(edges[k + 1])}`);
  return [svgEl("path", { class: "edge", d: parts.join("") })];
}

/** The worst place of each criterion, as a table: its numbers, and under them where it is. */
function showFindings(page, row) {
  const heads = ["criterion", "value", "limit", "used"].map((name, i) => el("th", { scope: "col", class: i > 0 ? "num" : null }, name));
  const body = row.judged.findings.flatMap((finding) => findingRows(finding, row, page.state.units));
  const caption = `Mast ${row.mast.letter}: the worst place of each criterion, ${caseTitle(page)}`;
  fillBox("findings", caption, el("table", { class: "findings" }, el("caption", {}, caption), el("thead", {}, el("tr", {}, ...heads)), el("tbody", {}, ...body)));
}

function findingRows(finding, row, units) {
  const { criterion, material, value, limit, unit, utilisation, station, where } = finding;
  const factor = unit === "MPa" ? displayFactor(unit, units) : 1;
  const shown = (number) => `${numberText(number * factor)} ${unitLabel(unit, units)}`;
  const z = quantityText(row.mast.beam.at[station] * row.length, "mm", units);
  return [
    el(
      "tr", {}, el("th", { scope: "row" }, criterion), el("td", { class: "num" }, shown(value)),
      el("td", { class: "num" }, limit === null ? "none stated" : shown(limit)),
      el("td", { class: utilisation > 1 ? "num over" : "num" }, utilisation === null ? "not judged" : `${percentText(utilisation)} %`),
    ),
    el("tr", { class: "place" }, el("td", { colspan: 4 }, `${shortName(material, 60)}, ${z} from the base${where ? `; ${where}` : ""}`)),
  ];
}

/** Steps of colour with their values, in the unit of the scale; what is over the limit stands apart. */
function colourBar(scale, x, y, width) {
  const each = width / (STEPS.length + (scale.over ? 2 : 0));
  const box = (from, size, fill) => svgEl("rect", { x: x + from * each, y, width: size * each, height: 12, fill, stroke: "none" });
  const frame = (from, size) => svgEl("rect", { class: "frame", x: x + from * each, y, width: size * each, height: 12 });
  const out = STEPS.map((fill, i) => box(i, 1.02, fill));
  out.push(frame(0, STEPS.length));
  const text = (at, words, anchor) => out.push(svgEl("text", { x: x + at * each, y: y + 25, "text-anchor": anchor }, words));
  text(0, `${scale.label(0)} ${scale.unit}`, "start");
  for (let i = width < 420 ? 5 : 2; i <= STEPS.length; i += width < 420 ? 5 : 2) {
    text(i, scale.label((scale.top * i) / STEPS.length), i === STEPS.length && !scale.over ? "end" : "middle");
  }
  if (scale.over) {
    const from = STEPS.length + 0.7;
    out.push(box(from, 1.3, OVER), frame(from, 1.3));
    text(from + 1.3, "over", "end");
  }
  return out;
}
