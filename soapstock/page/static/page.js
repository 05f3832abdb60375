"use strict";
// What is entered while the network is away waits here, and is sent once, in order.
(() => {
  const SHELF = "soapstock.waiting";
  const DOUBLE_TAP_MS = 700; // a trembling or wet finger, not a second sale
  const MOST_TRIES = 3; // of one entry at which the shop itself breaks
  const box = document.getElementById("waiting");
  if (!box) return;
  const words = box.dataset;
  const fill = (text, values) => text.replace(/\{(\w+)\}/g, (_, name) => values[name]);
  const read = () => JSON.parse(localStorage.getItem(SHELF) || "[]");
  const keep = (items) => localStorage.setItem(SHELF, JSON.stringify(items));
  const change = (key, make) => keep(read().flatMap((item) => item.key === key ? make(item) : [item]));
  const newKey = () => Array.from(crypto.getRandomValues(new Uint8Array(16)), (n) => n.toString(16).padStart(2, "0")).join("");
  let sending = false;

  const line = (tag, text, parent = box) => {
    const made = document.createElement(tag);
    made.textContent = text;
    parent.append(made);
    return made;
  };
  const link = (text, href, parent = box) => {
    const made = line("a", text, parent);
    made.href = href;
    made.className = "button";
    return made;
  };

  // The answer of the shop, or null when it was not reached: then nothing is known and it is sent again.
  const post = async (item) => {
    try {
      const answer = await fetch(item.to, {
        method: "POST",
        body: new URLSearchParams({ ...item.texts, key: item.key, by: item.by, token: words.token }),
        headers: { Accept: "application/json" },
        signal: AbortSignal.timeout(15000),
      });
      const text = await answer.text();
      const data = (answer.headers.get("content-type") || "").startsWith("application/json");
      return { status: answer.status, help: "", ...(data ? JSON.parse(text) : { ok: false, said: text }) };
    } catch {
      return null;
    }
  };

  const show = (said) => {
    const items = read();
    box.replaceChildren();
    if (said) line("p", said);
    const waiting = items.filter((item) => !item.refused);
    if (waiting.length) {
      line("p", fill(words.waiting, { n: waiting.length }));
      const list = line("ul", "");
      for (const item of waiting) {
        const other = item.by === words.by ? "" : ` (${fill(words.other, item)})`;
        line("li", `${item.what}, ${new Date(item.texts.at).toLocaleTimeString([], { timeStyle: "short" })}${other}`, list);
      }
      line("button", words.again).addEventListener("click", () => send());
    }
    for (const item of items.filter((one) => one.refused)) {
      const part = line("div", "");
      line("p", `${words.refused} ${item.what}. ${item.refused}`, part);
      const { at, ...texts } = item.texts;
      if (item.mend) link(words.mend, `${item.mend}?${new URLSearchParams(texts)}`, part);
      const drop = line("button", words.drop, part);
      drop.type = "button";
      drop.addEventListener("click", () => { change(item.key, () => []); show(); });
    }
    box.hidden = !box.childElementCount;
  };

  // What an answer makes of the entry that waited: it goes, is handed back, or waits on.
  const settle = (item, told) => {
    const text = `${told.said} ${told.help}`.trim();
    const tries = (item.tries || 0) + (told.status === 500 ? 1 : 0);
    const waits = told.status === 401 || told.status === 503 || (told.status === 500 && tries < MOST_TRIES);
    change(item.key, (one) => told.ok ? [] : [waits ? { ...one, tries } : { ...one, refused: text }]);
    return { waits, said: told.ok ? fill(words.sent, { said: text }) : waits ? text : "" };
  };

  const send = async (first) => {
    if (sending) return;
    sending = true;
    let said = first || "";
    try {
      const turn = async () => {
        for (;;) {
          const item = read().find((one) => !one.refused && one.by === words.by);
          if (!item) return;
          const told = await post(item);
          if (!told) return;
          const done = settle(item, told);
          said = done.said;
          if (done.waits) return;
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

  const tapped = new WeakMap();
  document.addEventListener("submit", (event) => {
    const form = event.target;
    const what = form.dataset;
    if (!what.queue) return;
    if (Date.now() - (tapped.get(form) || 0) < DOUBLE_TAP_MS) return event.preventDefault();
    const { token, key, by, ...texts } = Object.fromEntries(new FormData(form));
    texts.at = new Date().toISOString();
    // A page that was kept may come back with its old key, so an entry gets its own; a pot has one for good.
    const item = { key: what.once ? key : newKey(), to: form.getAttribute("action"), what: what.queue, mend: what.mend, by: words.by, texts };
    try {
      keep([...read().filter((one) => one.key !== item.key), item]);
    } catch {
      return; // this phone keeps nothing: the form goes by itself
    }
    event.preventDefault();
    tapped.set(form, Date.now());
    form.reset();
    if (!what.stay) {
      form.hidden = true;
      if (what.back) form.after(link(words.back, what.back));
    }
    show(words.kept);
    box.scrollIntoView();
    send(words.kept);
  });

  addEventListener("online", () => send());
  setInterval(() => { if (read().some((item) => !item.refused)) send(); }, 20000);
  show();
  send();
  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js").catch(() => {});
  document.documentElement.dataset.page = "ready";
})();
