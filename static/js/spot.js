// Picking a spot of a photo: the cross follows the mouse's click, a finger or the arrow keys.
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  const form = document.getElementById("spot-form");
  const photo = document.getElementById("spot");
  const { x, y } = form.elements;
  // The photo may now fill its column: where it is clicked is told in per cent, not in pixels.
  photo.classList.add("is-live");

  const line = (name) => {
    const cross = document.getElementById("cross");
    let found = cross.querySelector(`.${name}`);
    if (!found) {
      found = document.createElementNS("http://www.w3.org/2000/svg", "line");
      found.setAttribute("class", name);
      cross.append(found);
    }
    return found;
  };

  const set = (element, values) => {
    for (const [name, value] of Object.entries(values)) element.setAttribute(name, value);
  };

  const show = () => {
    const across = `${x.value || 50}%`;
    const down = `${y.value || 50}%`;
    set(line("across"), { x1: "0", x2: "100%", y1: down, y2: down });
    set(line("down"), { y1: "0", y2: "100%", x1: across, x2: across });
    document.querySelector("#cross rect")?.remove();
  };

  const place = (newX, newY) => {
    const within = (value) => Math.min(100, Math.max(0, Math.round(value * 10) / 10));
    x.value = within(newX);
    y.value = within(newY);
    show();
  };

  photo.addEventListener("click", (event) => {
    event.preventDefault();
    // A click by the Enter key has no place of its own; the cross has.
    if (event.detail > 0) {
      const box = photo.getBoundingClientRect();
      place((event.clientX - box.left) / box.width * 100, (event.clientY - box.top) / box.height * 100);
    } else if (!x.value) {
      place(50, 50);
    }
    form.requestSubmit(form.querySelector("button"));
  });

  const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  photo.addEventListener("keydown", (event) => {
    const step = STEPS[event.key];
    if (!step) return;
    event.preventDefault();
    const size = event.shiftKey ? 5 : 0.5;
    place(Number(x.value || 50) + step[0] * size, Number(y.value || 50) + step[1] * size);
  });
});
