// Time a row: start and stop, and the minutes are filled in. Without this they are typed.
const SECOND = 1000;
const box = document.querySelector(".stopwatch");
const button = box.querySelector("button"), shown = box.querySelector("output");
const minutes = document.querySelector("#pace-form [name=minutes]");
let began = null, ticking;

const passed = () => (performance.now() - began) / SECOND;

function tick() {
  const seconds = Math.floor(passed());
  shown.textContent = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

button.addEventListener("click", () => {
  if (began === null) {
    began = performance.now();
    ticking = setInterval(tick, SECOND / 2);
    button.textContent = button.dataset.stop;
    return;
  }
  clearInterval(ticking);
  tick();
  minutes.value = Math.max(passed() / 60, 0.1).toFixed(2);
  began = null;
  button.textContent = button.dataset.start;
});
box.hidden = false;
