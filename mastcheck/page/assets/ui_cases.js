/* Every load case of every mast: worked out after the sliders have come to rest, one case at a time. */

/**
 * Work through all cases, giving the page time between them; a later call ends an earlier one.
 * @param {Object} page its `cases` becomes a Map of mast index to rows by case, or null while unfinished
 * @param {function(): void} done
 */
function solveEveryCase(page, done) {
  const tasks = page.data.masts.flatMap((mast, index) =>
    page.state.masts[index] ? mast.cases.map((c) => ({ mast, index, name: c.name })) : []);
  const found = new Map();
  const mine = (page.run = {});
  const next = () => {
    if (page.run !== mine) return;
    const task = tasks.shift();
    if (!task) {
      page.cases = found;
      done();
      return;
    }
    const row = solveMast(task.mast, { ...page.state, caseName: task.name, loadFactor: null });
    if (!found.has(task.index)) found.set(task.index, new Map());
    found.get(task.index).set(task.name, row);
    setTimeout(next, 0);
  };
  next();
}

/** Forget what was worked out for other values. */
function dropCases(page) {
  page.cases = null;
  page.run = null;
}

/**
 * The worst verdict on a mast over every case, that of the case shown among them; null while unfinished.
 * @returns {{state: string, word: string, reasons: string[]}|null}
 */
function worstVerdict(page, row) {
  if (page.cases === null) return null;
  const rows = [...(page.cases.get(row.index) ?? new Map())];
  const titles = new Map(row.mast.cases.map((c) => [c.name, c.title]));
  if (row.refused === undefined) rows.push([page.state.caseName, row]);
  const named = (state) => [...new Set(rows.filter(([, r]) => (r.verdict?.state ?? "open") === state).map(([name]) => titles.get(name)))];
  const bad = named("bad");
  if (bad.length) return { state: "bad", word: "fail", reasons: bad };
  const open = named("open");
  if (open.length) return { state: "open", word: "not all judged", reasons: open };
  return rows.length ? { state: "good", word: "pass", reasons: [] } : { state: "open", word: "no cases", reasons: [] };
}

/** The table of all cases: strength used and verdict of each, at its own load factor. */
function showCases(page) {
  const shown = page.data.masts.flatMap((mast, index) => (page.state.masts[index] ? [{ mast, index }] : []));
  const head = el("tr", {}, el("th", { scope: "col" }, "case"), ...shown.map(({ mast }) => el("th", { scope: "col" }, letterEl(mast.letter))));
  const body = allCases(page.data).map(({ name, title }) =>
    el("tr", {}, el("th", { scope: "row" }, title), ...shown.map(({ index }) => caseCell(page.cases.get(index)?.get(name)))));
  byId("cases-words").textContent =
    "Strength used and verdict at the length, rider and ride height set above." +
    (page.state.loadFactor === null ? "" : " Here each case keeps its own load factor, not the one set above.");
  const table = el("table", { class: "live-table" }, el("thead", {}, head), el("tbody", {}, ...body));
  fillBox("cases", "Every load case, live", table);
}

function caseCell(row) {
  if (row === undefined) return el("td", { class: "words" }, el("span", { "aria-hidden": "true" }, "–"), el("span", { class: "hidden-text" }, "no such case"));
  if (row.refused) return el("td", { class: "words" }, "–", el("small", {}, row.refused));
  const { state, word } = row.verdict;
  const used = row.judged === null ? "no balance" : row.judged.utilisation === null ? "" : `${percentText(row.judged.utilisation)} %`;
  return el("td", { class: "words" }, el("span", { class: "case-cell" }, used ? el("span", {}, used) : null, chipEl(state, word)));
}
