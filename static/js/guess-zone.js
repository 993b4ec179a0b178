// Choose the browser's own time zone for somebody who has not chosen one yet. Browsers go on using
// names that the list no longer has; the site knows them, so such a name is added to it.
const select = document.querySelector("select[data-guess-zone]");
const guess = Intl.DateTimeFormat().resolvedOptions().timeZone;
if (select && select.value === "UTC" && guess && guess.includes("/") && !guess.startsWith("Etc/")) {
  const isListed = [...select.options].some((option) => option.value === guess);
  if (!isListed) select.add(new Option(guess, guess), 0);
  select.value = guess;
}
