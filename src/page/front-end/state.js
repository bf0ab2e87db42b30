// What is set on the page, and how the address says it: reloading and sharing keep it.

/** Values by key, the moment in hours (null: the hottest), what is compared with, the sheet that is open. */
export const state = { values: {}, momentH: null, compare: [], sheet: "run" };

/** Grows with every change, so that an answer can be told from an older one. */
let revision = 0;

export function changed() {
  revision += 1;
  return revision;
}

export function current() {
  return revision;
}

const OWN = ["moment", "beside", "sheet"];

export function read(isNumber) {
  const pairs = new URLSearchParams(location.hash.slice(1));
  state.values = {};
  for (const [key, text] of pairs) {
    if (OWN.includes(key)) continue;
    const number = Number(text);
    state.values[key] = isNumber(key) && text.trim() !== "" && Number.isFinite(number) ? number : text;
  }
  const moment = Number(pairs.get("moment") ?? "");
  state.momentH = pairs.has("moment") && Number.isFinite(moment) ? moment : null;
  state.compare = pairs.getAll("beside");
  state.sheet = pairs.get("sheet") ?? "run";
}

/** Written once the page rests: browsers refuse an address that changes with every step of a slider. */
export function write() {
  const pairs = new URLSearchParams();
  for (const [key, value] of Object.entries(state.values)) pairs.append(key, String(value));
  if (state.momentH !== null) pairs.append("moment", String(state.momentH));
  for (const name of state.compare) pairs.append("beside", name);
  if (state.sheet !== "run") pairs.append("sheet", state.sheet);
  const hash = pairs.toString();
  history.replaceState(null, "", hash === "" ? location.pathname : "#" + hash);
}

const narrow = matchMedia("(max-width: 56rem)");

export function onWidth(tell) {
  narrow.addEventListener("change", tell);
}

/** The question as the server takes it. */
export function question(n) {
  return {
    n,
    values: state.values,
    moment_h: state.momentH,
    width: narrow.matches ? "narrow" : "wide",
    compare: state.compare,
  };
}
