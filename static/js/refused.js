// What htmx sent and the site refused, since its sender is signed out or the page is too old, is
// sent again as without script: a page answers that hands back what was typed.
"use strict";

document.addEventListener("htmx:responseError", ({ detail: { elt, xhr } }) => {
  const form = elt.matches("form") ? elt : elt.form;
  if (xhr.status !== 403 || !form) return;
  if (elt !== form) {
    if (elt.formAction) form.action = elt.formAction;
    const pressed = Object.assign(document.createElement("input"), { type: "hidden", name: elt.name, value: elt.value });
    if (elt.name) form.append(pressed);
  }
  HTMLFormElement.prototype.submit.call(form);
});
