// The palette's page: a colour picker beside each hex code, editors that close, keys that move.
"use strict";

const HEX = /^#[0-9a-f]{6}$/i;

function addPicker(box) {
  if (box.dataset.colour === "ready") return;
  box.dataset.colour = "ready";
  const picker = document.createElement("input");
  picker.type = "color";
  picker.disabled = box.disabled;
  picker.setAttribute("aria-label", box.dataset.pick);
  if (HEX.test(box.value)) picker.value = box.value;
  // The picker has no name: the hex code is what is sent.
  picker.addEventListener("input", () => { box.value = picker.value; });
  box.addEventListener("input", () => { if (HEX.test(box.value)) picker.value = box.value; });
  const pair = document.createElement("span");
  pair.className = "colour-pair";
  box.before(pair);
  pair.append(picker, box);
}

function ready(root) {
  root.querySelectorAll("input[data-colour]").forEach(addPicker);
}

// A refused box is marked as such although only its sentence was sent.
function markRefused(slot) {
  const box = document.getElementById(slot.dataset.for);
  if (box) box.setAttribute("aria-invalid", slot.textContent.trim() ? "true" : "false");
}

document.addEventListener("htmx:load", (event) => {
  const loaded = event.detail.elt;
  ready(loaded);
  if (loaded.matches(".field-error[data-for]")) markRefused(loaded);
  // Somebody quick may be in another box by now.
  if (loaded.matches(".yarn-form") && !loaded.contains(document.activeElement)) {
    loaded.querySelector("input[name=name]").focus();
  }
});

document.addEventListener("click", (event) => {
  const close = event.target.closest("[data-close]");
  if (close) {
    const yarn = close.dataset.close;
    document.getElementById(`${yarn}-editor`).replaceChildren();
    document.getElementById(`${yarn}-edit`).focus();
    return;
  }
  // The first yarn has nowhere to go up to; the button stays, so that the focus does.
  if (event.target.closest("[aria-disabled=true]")) event.preventDefault();
});

document.addEventListener("keydown", (event) => {
  const move = event.target.closest(".yarn-move");
  const way = { ArrowUp: "up", ArrowDown: "down" }[event.key];
  if (!move || !way) return;
  event.preventDefault();
  const button = move.querySelector(`button[value=${way}]`);
  button.focus();
  button.click();
});

document.addEventListener("DOMContentLoaded", () => ready(document));
