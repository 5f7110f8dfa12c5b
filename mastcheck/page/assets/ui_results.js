/* The live table, the table of every case, the strip of a phone, and the sentence read out. */

/**
 * The table of live results.
 * @param {Object} page
 * @param {Object[]} rows of `solveShown`
 */
function showResults(page, rows) {
  byId("state-words").textContent = stateWords(page);
  const lines = resultLines(page.state);
  const head = el("tr", {}, el("th", { scope: "col" }, caseTitle(page)), ...rows.map((row) =>
    el("th", { scope: "col" }, letterEl(row.mast.letter), el("small", {}, el("bdi", {}, shortName(row.mast.name, 28))))));
  const body = lines.map((line) => el("tr", {}, el("th", { scope: "row" }, line.name), ...rows.map((row) => lineCell(row, line))));
  const table = el("table", { class: "live-table" }, el("thead", {}, head), el("tbody", {}, verdictLine(rows), worstLine(page, rows), checkedLine(rows), ...body));
  fillBox("results", "Results of each mast", table);
}

/** Put a table into its box, which scrolls by keyboard too; the box stays, with its focus and its place. */
function fillBox(id, label, table) {
  const host = byId(id);
  if (host.firstElementChild === null) host.append(el("div", { class: "scroll", tabindex: "0", role: "region" }));
  host.firstElementChild.setAttribute("aria-label", label);
  host.firstElementChild.replaceChildren(table);
}

function caseTitle(page) {
  return allCases(page.data).find((c) => c.name === page.state.caseName)?.title ?? "";
}

/** What the numbers are for, in words: on paper it stands in place of the controls. */
function stateWords(page) {
  const { state } = page;
  const parts = CONTROLS.map(({ key, name, unit, own }) => {
    const value = state[key] === null ? own : statedText(state[key], unit, state.units);
    return `${name.toLowerCase()} ${value}`;
  });
  const fixed = page.data.masts.some((mast, i) => state.masts[i] && mast.from_water.includes(state.caseName))
    ? " The loads of this case come from the water: they were worked out for each file’s own length, rider and ride height, and do not follow the sliders."
    : "";
  return `Load case ${caseTitle(page)}; ${parts.join("; ")}.${fixed} Small print: as checked by Python for the file’s own values.`;
}

function verdictLine(rows) {
  return el("tr", {}, el("th", { scope: "row" }, "In this case"), ...rows.map((row) => {
    if (row.refused) return el("td", { class: "words" }, chipEl("open", "not solved"), el("small", {}, row.refused));
    const { state, word, reasons } = row.verdict;
    return el("td", { class: "words" }, chipEl(state, word), ...reasons.map((reason) => el("small", {}, reason)));
  }));
}

/** The same over every case: a mast that passes in the case shown may fail in another. */
function worstLine(page, rows) {
  return el("tr", {}, el("th", { scope: "row" }, "In every case"), ...rows.map((row) => {
    const worst = worstVerdict(page, row);
    if (worst === null) return el("td", { class: "words" }, el("small", {}, "being worked out"));
    const { state, word, reasons } = worst;
    return el("td", { class: "words" }, chipEl(state, word), reasons.length ? el("small", {}, `in ${reasons.join(", ")}`) : null);
  }));
}

/** The verdict of the full check, joints and all: it is of each file's own values, and stays. */
function checkedLine(rows) {
  return el("tr", {}, el("th", { scope: "row" }, "The full check", el("small", {}, "of the file’s own values")), ...rows.map(({ mast }) =>
    el("td", { class: "words wrap" }, chipEl(mast.verdict.state, mast.verdict.word))));
}

function lineCell(row, line) {
  if (row.refused) return el("td", {}, "–");
  const cell = line.cell(row);
  const notes = [...(cell.notes ?? []), ...(cell.checked ? [`as checked ${cell.checked}`] : [])];
  return el(
    "td", {}, el("span", { class: cell.over ? "value over" : "value" }, cell.value),
    ...notes.map((note) => el("small", {}, note)),
  );
}

/** The lines of the table: how each is named, and its cell. */
function resultLines(state) {
  const { units } = state;
  const named = (name, unit) => (unitLabel(unit, units) ? `${name} [${unitLabel(unit, units)}]` : name);
  const tipLine = (name, key, unit, quantity, checkedKey) => ({
    name: named(name, unit), cell: (row) => tipCell(row, state, { key, unit, quantity, checkedKey }),
  });
  return [
    tipLine("Tip, sideways", "side", "mm", "side_deflection", "side"),
    tipLine("Tip, fore-aft", "foreAft", "mm", "fore_aft_deflection", "fore_aft"),
    tipLine("Twist", "twist", "deg", "twist", "twist"),
    { name: "Strength used [%]", cell: (row) => strengthCell(row, state) },
    { name: "Buckling factor", cell: (row) => bucklingCell(row) },
    { name: named("Mass of the mast", "kg"), cell: (row) => massCell(row, units) },
    { name: `${named("Drag of the mast", "N")} at ${statedText(state.speed, "m/s", units)}`, cell: (row) => dragCell(row, state) },
  ];
}

function checkedCase(row) {
  return row.mast.checked.cases[row.caseIndex];
}

function tipCell(row, state, { key, unit, quantity, checkedKey }) {
  const checked = checkedCase(row);
  const shownCheck = checked.stable ? shownText(checked[checkedKey], unit, state.units) : "unstable";
  if (row.found.tip === null) return { value: "no balance", over: true, checked: shownCheck };
  const value = row.found.tip[key];
  const limit = limitOn(row.mast, state.caseName, quantity);
  const over = limit !== null && Math.abs(value) * (row.mast.coupling ?? 1) > limit.maximum;
  const notes = limit === null ? [] : [
    `limit ${givenText(toShown(limit.maximum, unit, state.units))}: ${over ? "exceeded" : "held"}` +
      (row.mast.coupling === null ? "" : `, times ${numberText(row.mast.coupling)} for coupling`),
  ];
  return { value: shownText(value, unit, state.units), over, notes, checked: shownCheck };
}

/** A number that JSON could not hold. */
function endless(value) {
  return value === "inf" ? Infinity : value;
}

function strengthCell(row, state) {
  const checked = checkedCase(row);
  const before = checked.stable ? percentText(endless(checked.utilisation)) : "unstable";
  if (row.judged === null) return { value: "no balance", over: true, checked: before };
  const { utilisation, criterion, material, z } = governingOf(row);
  const where = `${criterion}, ${shortName(material, 28)}, ${quantityText(z, "mm", state.units)} from the base`;
  // Where no strength is stated a face may still buckle: that is said, though it is no utilisation of strength.
  const worst = utilisation === null ? worstFinding(row.judged) : null;
  const notes = worst === null ? [where] : [`${worst.criterion} ${percentText(worst.utilisation)} %`];
  return { value: percentText(utilisation), over: utilisation > 1 || worst?.utilisation > 1, notes, checked: before };
}

/** The judged finding that uses most, if any. */
function worstFinding(judged) {
  return judged.findings.reduce((a, b) => (b.utilisation !== null && b.utilisation > (a?.utilisation ?? -1) ? b : a), null);
}

/** What governs a row's strength, with its place [m] from the base. */
function governingOf(row) {
  const { utilisation, criterion, material, station } = row.judged;
  return { utilisation, criterion, material, station, z: row.mast.beam.at[station] * row.length };
}

/** A utilisation in percent; what is not judged says so. */
function percentText(value) {
  if (value === null) return "not judged";
  return Number.isFinite(value) ? (100 * value).toFixed(1) : "∞";
}

function bucklingCell(row) {
  const need = Math.max(1, row.mast.cases[row.caseIndex].strength_factor) * (row.mast.coupling ?? 1);
  const factor = row.found.bucklingFactor;
  return {
    value: numberText(factor), over: factor <= need, notes: [`more than ${numberText(need)} required`],
    checked: numberText(endless(checkedCase(row).buckling)),
  };
}

function massCell(row, units) {
  return { value: shownText(row.mass, "kg", units), checked: shownText(row.mast.checked.mass, "kg", units) };
}

function dragCell(row, { units }) {
  const { speed, drag } = row.mast.checked;
  return {
    value: shownText(row.drag.total, "N", units),
    checked: drag === null ? null : `${shownText(drag, "N", units)} at ${statedText(speed, "m/s", units)}`,
  };
}

/** The strip at the foot of a phone: results in sight while a slider is moved. */
function showStrip(page, rows) {
  byId("strip").replaceChildren(...rows.flatMap((row) => [letterEl(row.mast.letter), ...stripCells(page, row)]));
}

function stripCells(page, row) {
  const { units } = page.state;
  if (row.refused) return [el("span", { class: "long" }, "not solved")];
  const worst = worstVerdict(page, row);
  const state = worst === null ? null : stripState(worst, row.mast);
  const chip = state === null ? el("span", {}, "…") : chipEl(state, `all: ${{ good: "pass", bad: "fail", open: "part" }[state]}`);
  if (row.found.tip === null) return [el("span", { class: "most" }, "no balance found"), chip];
  const used = row.judged.utilisation;
  return [
    el("span", {}, `side ${quantityText(row.found.tip.side, "mm", units)}`),
    el("span", {}, `twist ${quantityText(row.found.tip.twist, "deg", units)}`),
    el("span", {}, used === null ? "" : `${percentText(used)} %`),
    chip,
  ];
}

/** Over every case; a live pass of a mast that the full check fails, for a bolt say, is a pass in part. */
function stripState(worst, mast) {
  return worst.state === "good" && mast.verdict.state !== "good" ? "open" : worst.state;
}

/** The results in a sentence for a screen reader, after the sliders have come to rest. */
function announce(page, rows) {
  const { units } = page.state;
  byId("announce").textContent = rows.map((row) => {
    if (row.refused) return `Mast ${row.mast.letter}: not solved, ${row.refused}.`;
    if (row.found.tip === null) return `Mast ${row.mast.letter}: unstable, no balance found.`;
    const used = row.judged.utilisation === null ? "strength not judged" : `${percentText(row.judged.utilisation)} % of the strength used`;
    const { side, twist } = row.found.tip;
    const worst = worstVerdict(page, row);
    const whole = worst === null ? "" : ` Over every case: ${[worst.word, ...worst.reasons].join(", ")}. The full check: ${row.mast.verdict.word}.`;
    return `Mast ${row.mast.letter}: ${row.verdict.word}; sideways ${quantityText(side, "mm", units)}, ` +
      `twist ${quantityText(twist, "deg", units)}, ${used}.${whole}`;
  }).join(" ");
}
