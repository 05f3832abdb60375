"use strict";
// Big keys for wet fingers, and a clock from the first blending to trace.
(() => {
  const press = (parent, text, does, label) => {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = text;
    if (label) made.setAttribute("aria-label", label);
    made.addEventListener("click", does);
    parent.append(made);
    return made;
  };
  const pad = document.querySelector(".pad");
  const mass = document.getElementById("mass");
  if (pad && mass) {
    for (const key of "123456789.0") press(pad, key, () => { mass.value += key; });
    press(pad, "\u232b", () => { mass.value = mass.value.slice(0, -1); }, pad.dataset.back);
    press(pad, pad.dataset.clear, () => { mass.value = ""; });
    pad.hidden = false;
  }
  const clock = document.querySelector(".clock");
  const trace = document.getElementById("e-trace");
  if (clock && trace) {
    const since = `soapstock.blend ${location.pathname}${location.search}`;
    const minutes = () => (Date.now() - Number(localStorage.getItem(since))) / 60000;
    const runs = document.createElement("p");
    press(clock, clock.dataset.begin, () => { localStorage.setItem(since, String(Date.now())); tick(); });
    press(clock, clock.dataset.end, () => {
      if (localStorage.getItem(since)) trace.value = String(Math.max(0.1, Math.round(minutes() * 10) / 10));
    });
    clock.append(runs);
    const tick = () => {
      if (localStorage.getItem(since)) runs.textContent = clock.dataset.runs.replace("{n}", minutes().toFixed(0));
    };
    setInterval(tick, 10000);
    tick();
    clock.hidden = false;
  }
})();
