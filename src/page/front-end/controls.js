// The knobs: from events to values, and from the program's answer back to sliders, fields and reasons.

import { state } from "./state.js";

const knobs = new Map();

/** Finds the knobs; turned(key) is told of every change, at once. */
export function begin(turned) {
  for (const element of document.querySelectorAll(".knob")) {
    const key = element.dataset.key;
    const knob = {
      element,
      slider: element.querySelector(".slider"),
      typed: element.querySelector(".typed"),
      other: element.querySelector("select, input[type=datetime-local]"),
      reset: element.querySelector(".reset"),
    };
    knobs.set(key, knob);
    const set = (value) => {
      state.values[key] = value;
      turned(key);
    };
    knob.slider?.addEventListener("input", () => {
      knob.typed.value = knob.slider.value;
      say(knob);
      set(Number(knob.slider.value));
    });
    knob.typed?.addEventListener("input", () => {
      const number = knob.typed.valueAsNumber;
      if (!Number.isFinite(number)) return;
      knob.slider.value = String(number);
      say(knob);
      set(number);
    });
    knob.other?.addEventListener("input", () => {
      if (knob.other.value !== "") set(knob.other.value.replace("T", " "));
    });
    knob.reset.addEventListener("click", () => {
      delete state.values[key];
      (knob.slider ?? knob.other).focus();
      turned(key);
    });
  }
}

export function isNumber(key) {
  return knobs.get(key)?.slider != null;
}

export function isKnob(key) {
  return knobs.has(key);
}

/** A slider says its value with the unit. */
function say(knob) {
  const unit = knob.slider.dataset.unit;
  const value = knob.typed.value;
  knob.slider.setAttribute("aria-valuetext", unit === "" ? value : `${value} ${unit}`);
}

/** Shows what the answer says of every knob; the one under somebody's hand is left alone. */
export function show(controls) {
  for (const control of controls) {
    const knob = knobs.get(control.key);
    if (knob === undefined) continue;
    const isTurned = control.key in state.values;
    const { element } = knob;
    element.toggleAttribute("data-turned", isTurned);
    element.removeAttribute("data-wrong");
    knob.reset.hidden = !isTurned;
    element.toggleAttribute("data-idle", control.idle !== null);
    const why = element.querySelector(".idle");
    if (why.textContent !== (control.idle ?? "")) why.textContent = control.idle ?? "";
    for (const input of [knob.slider, knob.typed, knob.other]) {
      if (input !== null) input.disabled = control.idle !== null;
    }
    if (control.kind === "range") {
      range(knob, control, isTurned);
    } else if (!isTurned || document.activeElement !== knob.other) {
      const value = control.kind === "moment" ? control.value.replace(" ", "T") : control.value;
      if (knob.other.value !== value) knob.other.value = value;
    }
  }
}

function range(knob, control, isTurned) {
  const { slider, typed } = knob;
  for (const name of ["min", "max", "step"]) {
    const value = String(control[name]);
    if (slider[name] !== value) slider[name] = value;
  }
  const isHeld = document.activeElement === slider || document.activeElement === typed;
  if (isTurned && isHeld) return;
  const value = String(isTurned && typeof state.values[control.key] === "number" ? state.values[control.key] : control.value);
  if (typed.value !== value) typed.value = value;
  if (slider.value !== value) slider.value = value;
  say(knob);
}

/** Shows every knob as it was turned, where there is no answer that says so. */
export function keep() {
  for (const [key, value] of Object.entries(state.values)) {
    const knob = knobs.get(key);
    if (knob === undefined) continue;
    knob.element.setAttribute("data-turned", "");
    knob.reset.hidden = false;
    for (const input of [knob.slider, knob.typed, knob.other]) {
      if (input === null || input === document.activeElement) continue;
      input.disabled = false;
      input.value = knob.other === input ? String(value).replace(/^(\d{4}-\d{2}-\d{2}) /, "$1T") : String(value);
    }
  }
}

/** Marks the knob that was turned last as the one whose value is refused. */
export function markWrong(key) {
  knobs.get(key)?.element.setAttribute("data-wrong", "");
  const knob = knobs.get(key);
  if (knob !== undefined) {
    knob.element.setAttribute("data-turned", "");
    knob.reset.hidden = false;
  }
}
