// Writing a clue: say so when what is typed could not be kept; a link of the preview opens elsewhere.
"use strict";

function notKept(event) {
  const place = event.target.closest(".kept");
  if (!place) return;
  const words = document.createElement("p");
  words.className = "field-error";
  words.setAttribute("role", "alert");
  words.textContent = document.querySelector("[data-not-kept]").dataset.notKept;
  place.replaceChildren(words);
}

function openElsewhere(event) {
  const link = event.target.closest("#tried a[href]");
  if (link && !link.getAttribute("href").startsWith("#")) link.target = "_blank";
}

document.addEventListener("click", openElsewhere);
document.addEventListener("htmx:sendError", notKept);
document.addEventListener("htmx:responseError", notKept);
