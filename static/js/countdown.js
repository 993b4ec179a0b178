// Keep the countdowns of the clues right, and fetch the list anew once one is due. The server's
// clock counts, not the reader's: only the time since the page came is measured here.
const SPREAD = 30_000; // ms; ten thousand open pages make some 330 requests a second, not 10,000
const MINUTE = 60_000;
let list, ahead, asked;

const now = () => Date.now() + ahead;
const unit = (count, name) =>
  new Intl.NumberFormat(document.documentElement.lang, { style: "unit", unit: name, unitDisplay: "long" }).format(count);

function words(left) {
  const minutes = Math.floor(left / MINUTE);
  const days = Math.floor(minutes / 1440), hours = Math.floor((minutes % 1440) / 60);
  const parts = days ? [[days, "day"], [hours, "hour"]] : [[hours, "hour"], [minutes % 60, "minute"]];
  const said = parts.filter(([count]) => count).map(([count, name]) => unit(count, name)).join(" ");
  return said ? list.dataset.form.replace("%(span)s", said) : list.dataset.end;
}

function tick() {
  if (!list) return;
  for (const one of list.querySelectorAll("[data-until]")) {
    const left = Date.parse(one.dataset.until) - now();
    const said = left > 0 ? words(left) : "";
    if (one.textContent !== said) one.textContent = said;
  }
  const overdue = now() - Date.parse(list.dataset.lookAgainAt); // NaN when there is nothing to wait for
  if (overdue >= 0 && !asked && !document.hidden) {
    // Whoever comes back to the page after the rush need not wait.
    asked = setTimeout(() => htmx.trigger(list, "due"), overdue > SPREAD ? 0 : Math.random() * SPREAD);
  }
}

function start() {
  const found = document.querySelector("#clue-list[data-now]");
  if (!found || found === list) return;
  const news = document.querySelector("#clue-news");
  if (list && news && found.dataset.latest !== list.dataset.latest) news.textContent = found.dataset.latest;
  list = found;
  ahead = Date.parse(list.dataset.now) - Date.now();
  asked = undefined;
  tick();
}

// A server that is busy is asked again, later.
const askLater = () => { asked = setTimeout(() => { asked = undefined; tick(); }, SPREAD + Math.random() * SPREAD); };
addEventListener("htmx:afterSettle", start);
addEventListener("htmx:responseError", askLater);
addEventListener("htmx:sendError", askLater);
addEventListener("visibilitychange", tick);
setInterval(tick, 1000);
start();
