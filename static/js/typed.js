// What is typed while an answer is on its way outlives the form that the answer replaces.
"use strict";

(() => {
  const sent = new WeakMap();
  let typed = [];

  const formOf = (element) => element?.closest?.("form[data-keep-typed]");
  const boxes = (form) => [...form.elements].filter((box) => box.id && box.name && box.matches("select, textarea, input:not([type=hidden], [type=image], [type=submit])"));
  const isTick = (box) => box.type === "checkbox" || box.type === "radio";
  const valueOf = (box) => (isTick(box) ? box.checked : box.value);

  document.addEventListener("htmx:beforeRequest", (event) => {
    const form = formOf(event.detail.elt);
    if (form) sent.set(form, new Map(boxes(form).map((box) => [box.id, valueOf(box)])));
  });

  document.addEventListener("htmx:beforeSwap", (event) => {
    const form = formOf(event.detail.requestConfig.elt);
    const before = form && sent.get(form);
    if (before) typed = boxes(form).filter((box) => before.get(box.id) !== valueOf(box)).map((box) => [box.id, valueOf(box)]);
  });

  document.addEventListener("htmx:afterSettle", () => {
    const late = typed.map(([id, value]) => [document.getElementById(id), value]).filter(([box, value]) => box && valueOf(box) !== value);
    typed = [];
    for (const [box, value] of late) {
      if (isTick(box)) box.checked = value;
      else box.value = value;
      box.dispatchEvent(new Event("input", { bubbles: true }));
    }
    // A form that saves as one goes saves these too.
    late.at(-1)?.[0].dispatchEvent(new Event("change", { bubbles: true }));
  });
})();
