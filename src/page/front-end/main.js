// From turned knobs to painted sheet: values change at once, one question is on its way, one frame paints.

import { Asker, Gone, Refused, post } from "./asking.js";
import * as controls from "./controls.js";
import { show } from "./morph.js";
import { changed, current, onWidth, question, read, state, write } from "./state.js";
import * as tabs from "./tabs.js";

const REST_MS = 250;
const SPEAK_MS = 700;

const by = (id) => document.getElementById(id);
const places = { verdict: by("answer"), plot: by("plot"), moment: by("at-moment"), notes: by("notes") };
const trouble = by("trouble");
const slider = by("moment");

let lastKey = null;
let painted = 0;
let rest = 0;
let speak = 0;
let retry = 0;

const look = new Asker("api/look", take, fail);
const band = new Asker("api/band", take, fail);

/** Something was set: ask at once, and how sure it is once nothing moves. */
function turn() {
  const n = changed();
  document.body.classList.add("asking");
  look.ask(question(n));
  clearTimeout(rest);
  clearTimeout(speak);
  rest = setTimeout(rested, REST_MS);
}

function rested() {
  write();
  markStudies();
  band.ask(question(current()));
}

function take(answer) {
  told(null);
  // Older than what is shown; or how sure a run was that nobody looks at any more.
  if (answer.n < painted || (answer.has_band && answer.n !== current())) return;
  // One answer comes at a time, and the browser paints what is there at its next frame: waiting for that frame first
  // would cost another one.
  paint(answer);
}

function paint(answer) {
  for (const [name, place] of Object.entries(places)) show(place, answer.html[name]);
  controls.show(answer.controls);
  showMoment(answer.moment);
  showCompare(answer.compare);
  painted = answer.n;
  document.body.classList.remove("stale", "asking");
  document.documentElement.dataset.painted = String(answer.n);
  document.documentElement.dataset.band = String(answer.has_band);
  if (answer.n === current()) {
    clearTimeout(speak);
    speak = setTimeout(() => {
      const spoken = by("spoken");
      if (spoken.textContent !== answer.spoken) spoken.textContent = answer.spoken;
    }, SPEAK_MS);
  }
}

/** The old picture stays, and is marked as old. */
function fail(error, asked) {
  if (error instanceof Refused) {
    if (asked.n !== current()) return;
    told(error.message);
    controls.keep();
    if (lastKey !== null) controls.markWrong(lastKey);
  } else if (error instanceof Gone) {
    told(error.message);
    clearTimeout(retry);
    retry = setTimeout(again, 1500);
  } else {
    throw error;
  }
  document.body.classList.add("stale");
  document.body.classList.remove("asking");
  unknown();
}

/** No verdict stays in sight that is not that of the knobs as they are. */
function unknown() {
  const answer = document.createElement("div");
  answer.className = "answer unknown";
  answer.dataset.verdict = "unknown";
  const word = document.createElement("p");
  word.className = "word";
  word.append("not known for these settings");
  const why = document.createElement("p");
  why.className = "sentence";
  why.append("What is drawn below is the last answer, for other settings.");
  answer.append(word, why);
  places.verdict.replaceChildren(answer);
}

/** The program may be back, or the network. Nothing is asked while nobody looks. */
function again() {
  if (document.hidden) {
    document.addEventListener("visibilitychange", again, { once: true });
  } else {
    look.ask(question(current()));
    clearTimeout(rest);
    rest = setTimeout(rested, REST_MS);
  }
}

function told(message) {
  clearTimeout(retry);
  if (trouble.hidden !== (message === null)) trouble.hidden = message === null;
  if (trouble.textContent !== (message ?? "")) trouble.textContent = message ?? "";
}

function showMoment(moment) {
  const max = String(moment.of_h);
  if (slider.max !== max) slider.max = max;
  if (document.activeElement !== slider || moment.is_hottest) slider.value = String(moment.at_h);
  slider.setAttribute("aria-valuetext", moment.words);
  const words = moment.is_hottest ? `${moment.words}, hottest` : moment.words;
  const output = by("moment-words");
  if (output.textContent !== words) output.textContent = words;
  by("hottest").disabled = moment.is_hottest;
}

function showCompare(names) {
  const boxes = document.querySelector("#compare .boxes");
  const there = [...boxes.querySelectorAll("input")].map((box) => box.value);
  if (there.join("\n") !== names.join("\n")) {
    boxes.replaceChildren(...names.map(box));
  }
  for (const input of boxes.querySelectorAll("input")) input.checked = state.compare.includes(input.value);
}

function box(name) {
  const label = document.createElement("label");
  const input = document.createElement("input");
  input.type = "checkbox";
  input.value = name;
  input.addEventListener("change", () => {
    state.compare = state.compare.filter((other) => other !== name);
    if (input.checked) state.compare.push(name);
    turn();
  });
  label.append(input, ` ${name}`);
  return label;
}

// What takes seconds.
const studies = new Map();

function markStudies() {
  const values = JSON.stringify(state.values);
  for (const study of studies.values()) {
    if (study.values !== null && study.values !== values && study.stop === null) {
      study.progress.textContent = "The knobs have been turned since: work it out again.";
      study.found.classList.add("stale");
    }
  }
}

function beginStudy(button) {
  const sheet = button.closest(".sheet");
  const study = {
    values: null,
    stop: null,
    progress: sheet.querySelector(".progress"),
    found: sheet.querySelector(".found"),
  };
  studies.set(button.dataset.study, study);
  button.addEventListener("click", () => ask(button, study));
}

async function ask(button, study) {
  // A newer question takes the place of an older one.
  study.stop?.abort();
  const stop = new AbortController();
  study.stop = stop;
  study.values = JSON.stringify(state.values);
  const began = performance.now();
  const path = `api/${button.dataset.study}`;
  const tick = async () => {
    const seconds = Math.round((performance.now() - began) / 1000);
    let share = "";
    try {
      const { done, total } = await (await fetch("api/progress", { signal: stop.signal })).json();
      if (total > 0 && button.dataset.study === "season") share = `, ${done} of ${total} starts`;
    } catch {
      return;
    }
    if (study.stop === stop) study.progress.textContent = `Working it out: ${seconds} s${share}`;
  };
  study.progress.textContent = "Working it out";
  const timer = setInterval(tick, 1000);
  try {
    const answer = await post(path, question(current()), 600000, stop.signal);
    if (study.stop !== stop) return;
    study.stop = null;
    show(study.found, answer.html.study);
    study.found.classList.remove("stale");
    study.progress.textContent = "Done.";
    markStudies();
  } catch (error) {
    if (study.stop !== stop) return;
    study.stop = null;
    study.progress.textContent = error.message;
  } finally {
    clearInterval(timer);
  }
}

async function save() {
  const saved = by("saved");
  const asked = { ...question(current()), file: by("file").value, replace: by("replace").checked };
  try {
    const answer = await post("api/save", asked);
    saved.textContent = `Saved as ${answer.saved}. Next: ${answer.next}`;
  } catch (error) {
    saved.textContent = error.message;
  }
}

function begin() {
  controls.begin((key) => {
    lastKey = key;
    turn();
  });
  read(controls.isNumber);
  slider.addEventListener("input", () => {
    state.momentH = Number(slider.value);
    turn();
  });
  by("hottest").addEventListener("click", () => {
    state.momentH = null;
    slider.focus();
    turn();
  });
  by("reset-all").addEventListener("click", () => {
    state.values = {};
    state.compare = [];
    lastKey = null;
    turn();
  });
  by("controls").addEventListener("submit", (event) => event.preventDefault());
  by("save").addEventListener("click", save);
  by("report").addEventListener("click", () => {
    by("report").href = `api/report?ask=${encodeURIComponent(JSON.stringify(question(current())))}`;
  });
  for (const button of document.querySelectorAll(".ask")) beginStudy(button);
  const openSheet = tabs.begin((name) => {
    if (state.sheet === name) return;
    state.sheet = name;
    write();
  });
  openSheet(state.sheet);
  onWidth(turn);
  window.addEventListener("hashchange", () => {
    read(controls.isNumber);
    openSheet(state.sheet);
    turn();
  });
  turn();
}

begin();
