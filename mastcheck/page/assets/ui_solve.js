/* From the reader's choices to a row of results for each mast, and the live verdict on it. */

const LIMIT_OF = {
  side_deflection: { of: (tip) => tip.side, words: "sideways", unit: "mm" },
  fore_aft_deflection: { of: (tip) => tip.foreAft, words: "fore-aft", unit: "mm" },
  roll: { of: (tip) => tip.roll, words: "roll", unit: "deg" },
  pitch: { of: (tip) => tip.pitch, words: "pitch", unit: "deg" },
  twist: { of: (tip) => tip.twist, words: "twist", unit: "deg" },
};

/**
 * One mast in one load case at the reader's values.
 * @param {Object} mast its data block
 * @param {Object} choice length, riderMass, loadFactor, rideHeight, speed [SI, null: the file's own], caseName
 * @returns {Object} `refused` (words, when it is not solved) or `found`, `judged`, `mass`, `drag`, `verdict`
 */
function solveMast(mast, choice) {
  const caseIndex = mast.cases.findIndex((c) => c.name === choice.caseName);
  if (caseIndex < 0) return { refused: "its file has no such load case" };
  const length = choice.length ?? mast.length;
  if (length < mast.length_min * (1 - 1e-9) || length > mast.length_max * (1 + 1e-9)) {
    return { refused: "this length is outside 0.5 to 1.3 times its own" };
  }
  const rideHeight = choice.rideHeight ?? mast.ride_height;
  if (rideHeight !== null && rideHeight >= length) return { refused: "the ride height is not below its length" };
  const settings = {
    caseIndex, length, rideHeight, riderMass: choice.riderMass ?? mast.rider.mass, loadFactor: choice.loadFactor,
  };
  const drag = dragOf(mast, { length, rideHeight, speed: choice.speed });
  return { caseIndex, length, drag, ...solvedBefore(mast, settings) };
}

const SOLVED = new WeakMap(); // the latest answers of each mast, by their settings
const SOLVED_MOST = 40;

/** One case solved and judged; the latest answers are kept, since tables and pictures ask for the same. */
function solvedBefore(mast, settings) {
  const one = mast.cases[settings.caseIndex];
  const exact = { ...settings, loadFactor: settings.loadFactor ?? one.n };
  const key = JSON.stringify(exact);
  if (!SOLVED.has(mast)) SOLVED.set(mast, new Map());
  const kept = SOLVED.get(mast);
  if (!kept.has(key)) {
    const found = solveCase(mast, exact);
    const judged = found.stable ? judge(mast, found.strengthResultants) : null;
    const answer = { found, judged, mass: massOf(mast, settings.length) };
    kept.set(key, { ...answer, verdict: liveVerdict(mast, one, answer) });
    if (kept.size > SOLVED_MOST) kept.delete(kept.keys().next().value);
  }
  return kept.get(key);
}

/**
 * Strength, buckling and the file's limits, by the rules of the full check; joints and the rest are not in it.
 * What is not judged is never a pass.
 * @returns {{state: string, word: string, reasons: string[]}}
 */
function liveVerdict(mast, loadCase, row) {
  const { found, judged } = row;
  const need = Math.max(1, loadCase.strength_factor);
  if (!found.stable) {
    return { state: "bad", word: "unstable", reasons: [unstableWords(found, need)] };
  }
  const parts = [
    stabilityPart(mast, found, need), strengthPart(mast, judged), ...limitParts(mast, loadCase, found.tip),
    ...(loadCase.lift === "follower" ? [{ state: "open", reason: "flutter of a lift that follows the wing is not judged" }] : []),
  ];
  const reasons = parts.flatMap((part) => (part.state === "good" ? [] : [part.reason]));
  if (parts.some((part) => part.state === "bad")) return { state: "bad", word: "fail", reasons };
  if (!reasons.length) return { state: "good", word: "pass", reasons };
  const any = judged.utilisation !== null || mast.limits.some((l) => l.case === loadCase.name);
  return { state: "open", word: any ? "pass, in part" : "not judged", reasons };
}

function unstableWords(found, need) {
  const factor = found.bucklingFactor;
  if (Number.isFinite(factor) && factor <= need) {
    return `no balance found: buckles at ${numberText(factor)} times the service load, ${numberText(need)} is required`;
  }
  return `no balance found at ${numberText(need)} times the service load`;
}

function stabilityPart(mast, found, need) {
  const have = found.bucklingFactor / (mast.coupling ?? 1);
  if (have > need) return { state: "good" };
  return { state: "bad", reason: `buckling factor ${numberText(have)}, ${numberText(need)} is required` };
}

/** Strength: more than all of it used fails; what states no strength, or holds for thinner walls only, is open. */
function strengthPart(mast, judged) {
  // Asked as "not within", so that a number that is none never passes.
  const exceeds = (used) => used !== null && !(used <= 1);
  const over = judged.findings.find((f) => exceeds(f.utilisation)) ?? null;
  if (over !== null || exceeds(judged.utilisation)) {
    return { state: "bad", reason: `${over === null ? "strength" : over.criterion} over its limit` };
  }
  if (judged.utilisation === null) return { state: "open", reason: "strength not judged: none is stated" };
  if (judged.findings.some((f) => f.utilisation === null)) {
    return { state: "open", reason: "strength of a part not judged: none is stated" };
  }
  if (judged.findings.some((f) => mast.beyond.includes(f.material))) {
    return { state: "open", reason: "strength is stated for thinner walls" };
  }
  if (mast.coupling !== null) return { state: "open", reason: "coupling of an unbalanced laminate is left out" };
  return { state: "good" };
}

function limitParts(mast, loadCase, tip) {
  return mast.limits.filter((limit) => limit.case === loadCase.name).map((limit) => {
    const { of, words } = LIMIT_OF[limit.quantity];
    const used = (Math.abs(of(tip)) * (mast.coupling ?? 1)) / limit.maximum;
    return used <= 1 ? { state: "good" } : { state: "bad", reason: `${words} over the file’s limit` };
  });
}

/** The limit a file sets on a quantity in a case, if any. */
function limitOn(mast, caseName, quantity) {
  return mast.limits.find((limit) => limit.case === caseName && limit.quantity === quantity) ?? null;
}

/** Rows of all masts that are shown, by index. */
function solveShown(page) {
  return page.data.masts.flatMap((mast, index) =>
    page.state.masts[index] ? [{ index, mast, ...solveMast(mast, page.state) }] : []);
}
