/* Starts the page: data in, state from the link, and everything redrawn when the state changes. */

/** Called once, when the script has been read. */
function startPage() {
  const data = JSON.parse(byId("data").textContent);
  const { state, faults } = stateFromHash(data, location.hash);
  const page = { data, state, hash: location.hash, cases: null, run: null, widths: null };
  const last = { rows: [], units: "metric" };
  const everyCase = () => solveEveryCase(page, () => {
    showCases(page);
    showResults(page, last.rows);
    showStrip(page, last.rows);
  });
  const speak = whenQuiet(() => announce(page, last.rows), 900);
  const laterWork = whenQuiet(() => {
    everyCase();
    parts.share.refresh();
  }, 250);
  const redraw = oncePerFrame(() => redrawAll(page, parts, last));
  const changed = () => {
    dropCases(page);
    redraw();
    laterWork();
    speak();
  };
  for (const node of document.querySelectorAll(".live-only")) node.hidden = false;
  const parts = {
    controls: buildControls(page, changed),
    shapes: buildShapeControls(page, changed),
    picture: buildPictureControls(page, changed),
    share: buildShare(page),
  };
  page.widths = pictureWidths();
  redrawAll(page, parts, last);
  everyCase();
  parts.share.refresh();
  if (faults.length) byId("copied").textContent = faults.join(" ");
  listen(page, changed);
  openCautions();
  watchStrip();
  window.mastcheck = testHandle(page, changed);
}

/** Everything that must follow a slider within a frame. */
function redrawAll(page, parts, last) {
  last.rows = solveShown(page);
  parts.controls.refresh();
  parts.shapes.refresh();
  showResults(page, last.rows);
  showStrip(page, last.rows);
  showShapes(page, last.rows);
  parts.picture.refresh(showPicture(page));
  if (last.units !== page.state.units) {
    last.units = page.state.units;
    showFixedQuantities(last.units);
  }
}

/** Links followed within the page, a window of another size, and paper. */
function listen(page, changed) {
  window.addEventListener("hashchange", () => {
    // An anchor of the page's own (#cautions) is no state.
    if (location.hash === page.hash || (location.hash && !location.hash.includes("="))) return;
    const { state, faults } = stateFromHash(page.data, location.hash);
    Object.assign(page.state, state);
    byId("copied").textContent = faults.join(" ");
    changed();
  });
  window.addEventListener("resize", () => {
    const before = JSON.stringify(page.widths);
    page.widths = pictureWidths();
    // The bar of a phone's browser comes and goes as one scrolls: that changes no width.
    if (JSON.stringify(page.widths) !== before) changed();
  });
  window.addEventListener("beforeprint", () => {
    for (const node of document.querySelectorAll("details")) {
      node.dataset.was = node.open ? "open" : "";
      node.open = true;
    }
  });
  window.addEventListener("afterprint", () => {
    for (const node of document.querySelectorAll("details")) node.open = node.dataset.was === "open";
  });
}

/** The strip is in sight only with the part of the page that it belongs to. */
function watchStrip() {
  const strip = byId("strip");
  new IntersectionObserver((seen) => {
    strip.hidden = !seen[seen.length - 1].isIntersecting;
  }).observe(byId("play"));
}

/** Cautions stand open wherever there is room for them beside the rest. */
function openCautions() {
  if (window.matchMedia("(min-width: 60rem)").matches) byId("all-cautions").open = true;
}

/** What tests, and curious readers, may call: the same solve as the page's own, and the state. */
function testHandle(page, changed) {
  return {
    solve: (index, choice) => solveMast(page.data.masts[index], { ...page.state, ...choice }),
    state: () => ({ ...page.state, masts: [...page.state.masts] }),
    set: (choice) => {
      Object.assign(page.state, choice);
      changed();
    },
    busy: () => page.cases === null,
    data: page.data,
  };
}
