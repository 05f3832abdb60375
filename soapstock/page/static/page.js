"use strict";
// What is entered while the network is away waits here, and is sent once, in order.
(() => {
  const SHELF = "soapstock.waiting";
  const box = document.getElementById("waiting");
  if (!box) return;
  const words = box.dataset;
  const fill = (text, values) => text.replace(/\{(\w+)\}/g, (_, name) => values[name]);
  const read = () => JSON.parse(localStorage.getItem(SHELF) || "[]");
  const keep = (items) => localStorage.setItem(SHELF, JSON.stringify(items));
  const change = (key, make) => keep(read().flatMap((item) => item.key === key ? make(item) : [item]));
  const newKey = () => Array.from(crypto.getRandomValues(new Uint8Array(16)), (n) => n.toString(16).padStart(2, "0")).join("");
  let sending = false;

  // The answer of the shop, or null when it was not reached: then nothing is known and it is sent again.
  const post = async (item) => {
    try {
      const answer = await fetch(item.to, {
        method: "POST",
        body: new URLSearchParams(item.texts),
        headers: { Accept: "application/json" },
        signal: AbortSignal.timeout(15000),
      });
      const told = await answer.json();
      if (typeof told.ok !== "boolean" || answer.status >= 500) return null;
      return told;
    } catch {
      return null;
    }
  };

  const show = (said) => {
    const items = read();
    box.replaceChildren();
    const line = (tag, text, parent = box) => {
      const made = document.createElement(tag);
      made.textContent = text;
      parent.append(made);
      return made;
    };
    if (said) line("p", said);
    const waiting = items.filter((item) => !item.refused);
    if (waiting.length) {
      line("p", fill(words.waiting, { n: waiting.length }));
      const list = line("ul", "");
      for (const item of waiting) {
        const other = item.by === words.by ? "" : ` (${fill(words.other, item)})`;
        line("li", `${item.what}, ${new Date(item.texts.at).toLocaleTimeString([], { timeStyle: "short" })}${other}`, list);
      }
      line("button", words.again).addEventListener("click", send);
    }
    for (const item of items.filter((one) => one.refused)) {
      const part = line("div", "");
      line("p", `${words.refused} ${item.what}. ${item.refused}`, part);
      const drop = line("button", words.drop, part);
      drop.type = "button";
      drop.addEventListener("click", () => { change(item.key, () => []); show(); });
    }
    box.hidden = !box.childElementCount;
  };

  const send = async () => {
    if (sending) return;
    sending = true;
    let said = "";
    try {
      const turn = async () => {
        for (;;) {
          const item = read().find((one) => !one.refused && one.by === words.by);
          if (!item) return;
          const told = await post(item);
          if (!told) return;
          const text = `${told.said} ${told.help}`.trim();
          if (told.ok) said = fill(words.sent, { said: text });
          change(item.key, (one) => told.ok ? [] : [{ ...one, refused: text }]);
          show(said);
        }
      };
      if (navigator.locks) await navigator.locks.request(SHELF, turn);
      else await turn();
    } finally {
      sending = false;
      show(said);
    }
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.dataset.queue) return;
    event.preventDefault();
    const texts = Object.fromEntries(new FormData(form));
    texts.at = new Date().toISOString();
    keep([...read(), { key: texts.key, to: form.getAttribute("action"), what: form.dataset.queue, by: words.by, texts }]);
    form.elements.key.value = newKey();
    form.reset();
    show(words.kept);
    box.scrollIntoView();
    send();
  });

  addEventListener("online", send);
  setInterval(() => { if (read().some((item) => !item.refused)) send(); }, 20000);
  show();
  send();
  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js").catch(() => {});
})();
