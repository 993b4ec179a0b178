// Choose the browser's own time zone for somebody who has not chosen one yet.
const select = document.querySelector("select[data-guess-zone]");
const guess = Intl.DateTimeFormat().resolvedOptions().timeZone;
if (select && select.value === "UTC" && [...select.options].some((option) => option.value === guess)) {
  select.value = guess;
}
