// Boxes on a photo: moved and resized by a finger, the mouse or the arrow keys.
"use strict";

(() => {
  const STEP = 0.5;
  const SMALLEST = 1;
  const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  // How much of a step each corner takes off the left, the top, the width and the height.
  const CORNERS = { nw: [1, 1, -1, -1], ne: [0, 1, 1, -1], sw: [1, 0, -1, 1], se: [0, 0, 1, 1] };
  let held = null;
  let waiting = 0;

  const form = () => document.getElementById("marks");
  const boxesOf = (mark) => ["left", "top", "width", "height"].map((side) => form().elements[`${mark.dataset.mark}-${side}`]);
  const read = (mark) => boxesOf(mark).map((box) => Number(box.value) || 0);
  const tenth = (value) => Math.round(value * 10) / 10;
  const within = (value, least, most) => Math.min(Math.max(value, least), most);

  const draw = (mark) => {
    const [left, top, width, height] = read(mark);
    const set = (element, values) => Object.entries(values).forEach(([name, value]) => element.setAttribute(name, `${value}%`));
    set(mark.querySelector(".mark-body"), { x: left, y: top, width, height });
    set(mark.querySelector(".mark-disc"), { cx: left, cy: top });
    set(mark.querySelector(".mark-text"), { x: left, y: top });
    for (const grip of mark.querySelectorAll(".mark-grip")) {
      const east = grip.dataset.corner.endsWith("e");
      const south = grip.dataset.corner.startsWith("s");
      set(grip, { cx: left + (east ? width : 0), cy: top + (south ? height : 0) });
    }
  };

  const place = (mark, values) => {
    boxesOf(mark).forEach((box, i) => { box.value = tenth(values[i]); });
    draw(mark);
  };

  const move = (mark, [left, top, width, height], [across, down]) =>
    place(mark, [within(left + across, 0, 100 - width), within(top + down, 0, 100 - height), width, height]);

  const resize = (mark, [left, top, width, height], corner, [across, down]) => {
    const [onLeft, onTop, onWidth, onHeight] = CORNERS[corner];
    across = onLeft ? within(across, -left, width - SMALLEST) : within(across, SMALLEST - width, 100 - left - width);
    down = onTop ? within(down, -top, height - SMALLEST) : within(down, SMALLEST - height, 100 - top - height);
    place(mark, [left + onLeft * across, top + onTop * down, width + onWidth * across, height + onHeight * down]);
  };

  const grow = (mark, [left, top, width, height], by) => {
    const wide = within(width + 2 * by, SMALLEST, 100);
    const high = within(height + 2 * by, SMALLEST, 100);
    place(mark, [within(left + (width - wide) / 2, 0, 100 - wide), within(top + (height - high) / 2, 0, 100 - high), wide, high]);
  };

  const say = (mark) => {
    const [left, top, width, height] = read(mark);
    const values = { left, top, width, height };
    document.getElementById("marks-said").textContent = form().dataset.where.replace(/\{(\w+)\}/g, (_, name) => values[name]);
  };

  const keep = (mark) => {
    say(mark);
    boxesOf(mark)[0].dispatchEvent(new Event("change", { bubbles: true }));
  };

  document.addEventListener("pointerdown", (event) => {
    const part = event.target.closest?.(".is-live .mark-body, .is-live .mark-grip");
    if (!part || event.button !== 0) return;
    event.preventDefault();
    const mark = part.closest(".mark");
    const stage = document.getElementById("marks-drawn").getBoundingClientRect();
    held = { mark, part, stage, from: [event.clientX, event.clientY], start: read(mark), moved: false };
    part.setPointerCapture(event.pointerId);
    mark.classList.add("is-held");
    (part.tabIndex >= 0 ? part : mark.querySelector(".mark-body")).focus({ preventScroll: true });
  });

  // touch-action is not heeded on shapes inside a drawing, and the page would scroll away.
  document.addEventListener("touchstart", (event) => {
    if (event.target.closest?.(".is-live .mark-body, .is-live .mark-grip")) event.preventDefault();
  }, { passive: false });

  document.addEventListener("pointermove", (event) => {
    if (!held) return;
    const { mark, part, stage, from, start } = held;
    const by = [(event.clientX - from[0]) / stage.width * 100, (event.clientY - from[1]) / stage.height * 100];
    held.moved ||= Math.hypot(event.clientX - from[0], event.clientY - from[1]) > 3;
    if (!held.moved) return;
    if (part.dataset.corner) resize(mark, start, part.dataset.corner, by);
    else move(mark, start, by);
  });

  const release = () => {
    if (!held) return;
    held.mark.classList.remove("is-held");
    if (held.moved) keep(held.mark);
    held = null;
  };
  document.addEventListener("pointerup", release);
  document.addEventListener("pointercancel", release);

  document.addEventListener("keydown", (event) => {
    const part = event.target.closest?.(".is-live .mark-body, .is-live .mark-grip");
    if (!part || event.ctrlKey || event.metaKey || event.altKey) return;
    const mark = part.closest(".mark");
    const step = ARROWS[event.key]?.map((way) => way * STEP);
    const by = { "+": STEP, "=": STEP, "-": -STEP, "−": -STEP }[event.key];
    if (!step && !by) return;
    event.preventDefault();
    if (by) grow(mark, read(mark), by);
    else if (part.dataset.corner || event.shiftKey) resize(mark, read(mark), part.dataset.corner || "se", step);
    else move(mark, read(mark), step);
    clearTimeout(waiting);
    waiting = setTimeout(() => keep(mark), 400);
  });

  // A box placed by numbers is drawn at once.
  document.addEventListener("input", (event) => {
    if (!event.target.dataset?.side) return;
    const mark = [...document.querySelectorAll(".mark")].find((one) => event.target.name.startsWith(`${one.dataset.mark}-`));
    if (mark) draw(mark);
  });

  // A press that the site has not heard yet, and where on the photo it was.
  let unheard = null;
  let spot = null;
  const press = (button) => {
    const { at_x: x, at_y: y } = form().elements;
    [x.value, y.value] = spot ?? ["", ""];
    unheard = button;
    button.click();
  };

  document.addEventListener("click", (event) => {
    if (!event.isTrusted) return;
    unheard = event.target.closest?.("#marks button[hx-post]") ?? null;
    spot = null;
  }, true);

  document.addEventListener("click", (event) => {
    if (event.target.id !== "spot") return;
    event.preventDefault();
    // A press of the Enter key has no place of its own: the middle, then.
    if (event.detail > 0) {
      const stage = event.target.getBoundingClientRect();
      spot = [
        tenth((event.clientX - stage.left) / stage.width * 100),
        tenth((event.clientY - stage.top) / stage.height * 100),
      ];
    }
    press(document.getElementById("add-mark"));
  });

  document.addEventListener("htmx:beforeRequest", (event) => {
    if (event.detail.elt !== unheard) return;
    unheard = spot = null;
    for (const place of ["at_x", "at_y"]) form().elements[place].value = "";
  });

  // What was drawn anew before it was heard passes the press on.
  const passOn = () => {
    if (!unheard || unheard.isConnected) return;
    const isSame = (button) => button.value === unheard.value && button.getAttribute("hx-post") === unheard.getAttribute("hx-post");
    const again = [...form().querySelectorAll("button[hx-post]")].find(isSame);
    unheard = null;
    if (again && !document.querySelector("#marks-alert [role=alert]")) press(again);
  };

  // A form remembers the button that has the focus, but a change only ever keeps what is marked.
  document.addEventListener("htmx:configRequest", (event) => {
    const { elt, triggeringEvent } = event.detail;
    if (elt === form() && triggeringEvent?.type === "change") event.detail.path = elt.getAttribute("hx-post");
  });

  // What a button is refused for stands by the photo, which on a phone may be far above the button.
  let isPressed = false;
  document.addEventListener("htmx:beforeRequest", (event) => {
    isPressed = event.detail.requestConfig.triggeringEvent?.type !== "change";
  });
  const showRefusal = () => {
    if (isPressed) document.querySelector("#marks-alert [role=alert]")?.scrollIntoView({ block: "nearest" });
    isPressed = false;
  };

  const enliven = () => {
    if (!form() || form().querySelector(".measure-yarns:disabled")) return;
    form().classList.add("is-live");
    if (held) held.mark = document.querySelector(`[data-mark="${held.mark.dataset.mark}"]`) ?? held.mark;
    for (const part of form().querySelectorAll(".mark [data-label]")) {
      part.setAttribute("tabindex", "0");
      part.setAttribute("role", "application");
      part.setAttribute("aria-label", part.dataset.label);
    }
  };
  document.addEventListener("DOMContentLoaded", enliven);
  document.addEventListener("htmx:afterSettle", enliven);
  document.addEventListener("htmx:afterSettle", showRefusal);
  document.addEventListener("htmx:afterSettle", passOn);
})();
