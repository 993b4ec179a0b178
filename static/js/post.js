// Showing progress: with a photo chosen, what it shows is asked for before anything is sent, since a
// page that comes back cannot hold the chosen file.
"use strict";

const photo = document.querySelector("input[type=file][name=photo]");
const alt = document.querySelector("input[data-needed]");

function check() {
  const isMissing = photo.files.length > 0 && !alt.value.trim();
  alt.setCustomValidity(isMissing ? alt.dataset.needed : "");
  // All else is checked where it can be said in full: on the server.
  alt.form.noValidate = !isMissing;
}

photo.addEventListener("change", check);
alt.addEventListener("input", check);
check();
