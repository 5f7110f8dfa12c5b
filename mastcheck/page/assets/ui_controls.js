/* Sliders with their boxes, and the other choices. Each calls `changed` after it has changed the state. */

/**
 * Build all controls into the form.
 * @param {Object} page data, state and what is done after a change
 * @param {function(): void} changed
 * @returns {{refresh: function(): void}} refresh: show the state as it is
 */
function buildControls(page, changed) {
  const form = byId("controls");
  form.addEventListener("submit", (event) => event.preventDefault());
  const parts = [caseChoice(page, changed), ...(page.data.masts.length > 1 ? [mastChoice(page, changed)] : [])];
  parts.push(...CONTROLS.map((control) => sliderControl(page, control, changed)));
  parts.push(unitChoice(page, changed));
  const reset = el("button", { type: "button", id: "reset" }, "All as the files say");
  reset.addEventListener("click", () => {
    const { units } = page.state;
    Object.assign(page.state, openingState(page.data), { units });
    changed();
  });
  form.append(...parts.map((part) => part.node), el("div", { class: "row" }, reset));
  return { refresh: () => parts.forEach((part) => part.refresh()) };
}

/** The load case. */
function caseChoice(page, changed) {
  const select = el("select", { id: "case" });
  for (const { name, title } of allCases(page.data)) select.append(el("option", { value: name }, title));
  select.addEventListener("change", () => {
    page.state.caseName = select.value;
    changed();
  });
  const node = el("div", {}, el("label", { for: "case", class: "name" }, "Load case"), select);
  return { node, refresh: () => { select.value = page.state.caseName; } };
}

/** Which masts are shown; the last one cannot be left out. */
function mastChoice(page, changed) {
  const boxes = page.data.masts.map((mast, i) => {
    const box = el("input", { type: "checkbox", id: `mast-${i}` });
    box.addEventListener("change", () => {
      page.state.masts[i] = box.checked;
      if (!page.state.masts.includes(true)) page.state.masts[i] = box.checked = true;
      changed();
    });
    return box;
  });
  const rows = page.data.masts.map((mast, i) =>
    el("label", { for: `mast-${i}` }, boxes[i], swatchEl(i), letterEl(mast.letter), el("bdi", {}, shortName(mast.name))));
  const node = el("fieldset", {}, el("legend", {}, "Masts"), el("div", { class: "choices stack" }, ...rows));
  return { node, refresh: () => boxes.forEach((box, i) => { box.checked = page.state.masts[i]; }) };
}

/** A name cut for a narrow place. */
function shortName(name, longest = 44) {
  const letters = [...name];
  return letters.length > longest ? `${letters.slice(0, longest - 1).join("").trimEnd()}…` : name;
}

/**
 * A slider, its number box, and a tick for "as the file says".
 * What a person types outside the range, or what is no number, is refused beside the box.
 */
function sliderControl(page, control, changed) {
  const { key, name, own } = control;
  const slider = el("input", { type: "range", id: `${key}-slider`, "aria-label": `${name}, slider` });
  const box = el("input", {
    type: "text", inputmode: "decimal", id: `${key}-box`, "aria-label": name, "aria-describedby": `${key}-fault`, spellcheck: "false",
  });
  const unit = el("span", { class: "unit" });
  const fault = el("p", { class: "fault", id: `${key}-fault`, "aria-live": "polite" });
  const tick = own === null ? null : el("input", { type: "checkbox", id: `${key}-own` });
  const set = (value) => {
    page.state[key] = value;
    clearFault(box, fault);
    changed();
  };
  slider.addEventListener("input", () => set(sliderValue(page, control, slider)));
  box.addEventListener("change", () => takeBox(page, control, box, fault, set));
  if (tick) tick.addEventListener("change", () => set(tick.checked ? null : ownNow(page, key)));
  const node = el(
    "div", { class: "control" },
    el("span", { class: "name" }, el("span", { "aria-hidden": "true" }, name), tick && el("label", { class: "own", for: `${key}-own` }, tick, own)),
    el("span", { class: "boxed" }, box, unit),
    slider,
    fault,
  );
  return { node, refresh: () => refreshSlider(page, control, { slider, box, unit, tick, fault }) };
}

/** The own value of the first mast shown: where a control stands while each file's own value holds. */
function ownNow(page, key) {
  return ownValue(page.data.masts[page.state.masts.indexOf(true)], page.state, key);
}

/** A slider's value in SI; its ends are the range's own ends, which a step may miss. */
function sliderValue(page, control, slider) {
  const [low, high] = controlRange(page.data, control.key);
  return Math.min(high, Math.max(low, fromShown(Number(slider.value), control.unit, page.state.units)));
}

function takeBox(page, control, box, fault, set) {
  const [low, high] = controlRange(page.data, control.key);
  const { units } = page.state;
  const value = fromShown(parseNumber(box.value), control.unit, units);
  // What was shown was rounded to five figures: the ends may be typed as they are shown.
  if (value >= low * (1 - 1e-4) && value <= high * (1 + 1e-4)) {
    set(Math.min(high, Math.max(low, value)));
    return;
  }
  box.setAttribute("aria-invalid", "true");
  const range = `${statedText(low, control.unit, units)} to ${statedText(high, control.unit, units)}`;
  fault.textContent = Number.isNaN(value)
    ? `Not used: this is no number. Give one from ${range}.`
    : `Not used: outside ${range}. The results are for ${statedText(page.state[control.key] ?? ownNow(page, control.key), control.unit, units)}.`;
}

function clearFault(box, fault) {
  box.removeAttribute("aria-invalid");
  fault.textContent = "";
}

function refreshSlider(page, control, parts) {
  const { slider, box, unit, tick, fault } = parts;
  const { units } = page.state;
  const [low, high] = controlRange(page.data, control.key);
  const value = page.state[control.key] ?? ownNow(page, control.key);
  const step = control.step[units];
  slider.min = String(Math.floor(toShown(low, control.unit, units) / step) * step);
  slider.max = String(Math.ceil(toShown(high, control.unit, units) / step) * step);
  slider.step = String(step);
  slider.value = String(toShown(value, control.unit, units));
  slider.setAttribute("aria-valuetext", statedText(value, control.unit, units));
  unit.textContent = unitLabel(control.unit, units);
  if (tick) tick.checked = page.state[control.key] === null;
  // A refused entry stays to be mended, unless the value has been set by other means.
  if (document.activeElement !== box || !box.hasAttribute("aria-invalid")) {
    box.value = boxText(toShown(value, control.unit, units));
    clearFault(box, fault);
  }
}

/** Metric or imperial. */
function unitChoice(page, changed) {
  const radios = ["metric", "imperial"].map((system) => {
    const radio = el("input", { type: "radio", name: "units", id: `units-${system}`, value: system });
    radio.addEventListener("change", () => {
      page.state.units = system;
      changed();
    });
    return radio;
  });
  const node = el(
    "fieldset", {}, el("legend", {}, "Units"),
    el("div", { class: "choices" }, ...radios.map((r) => el("label", { for: r.id }, r, r.value))),
  );
  return { node, refresh: () => radios.forEach((r) => { r.checked = r.value === page.state.units; }) };
}
