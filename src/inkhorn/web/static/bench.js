// The page works without this. With it: forms open in place, what is said is
// kept on this device until the bench has it, and what others say appears.
"use strict";

const page = document.documentElement;
page.classList.add("script");
const LOOK = 2500, PATIENCE = 8000;
const at = (id) => document.getElementById(id);
const search = (query) => new URLSearchParams(query).toString();
let known = { after: Number(document.body.dataset.after || 0), turn: null, working: null };
let reached = true;
let boxes = new Map();

/* ---------------------------------------------------------------- what is true now */

async function get(url) {
  return fetch(url, { headers: { "x-bench": "look" }, cache: "no-store", signal: AbortSignal.timeout(PATIENCE) });
}

async function look() {
  if (!document.hidden) {
    try {
      const status = await (await get("/api/status")).json();
      await answered(true);
      const moved = status.after !== known.after || status.turn !== known.turn || status.working !== known.working;
      const first = known.turn === null && !document.querySelector("[data-working]") && status.after === known.after;
      const grown = status.after !== known.after;
      known = status;
      if (moved && !first) await refresh();
      if (grown) await prepare();
    } catch {
      await answered(false);
    }
  }
  window.setTimeout(look, LOOK);
}

async function refresh() {
  const answer = await get(window.location.pathname + window.location.search);
  if (!answer.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  const before = at("counsel")?.textContent;
  // Who reads what came of their words, or what lies beneath, keeps it before their eyes however much grows above.
  const held = at("do"), stood = held?.getBoundingClientRect().top;
  const holds = held && window.scrollY > 0 && stood < window.innerHeight / 2;
  for (const old of document.querySelectorAll("[data-live]")) {
    const next = fresh.getElementById(old.id);
    if (!next || next.innerHTML === old.innerHTML) continue;
    if (old.contains(document.activeElement) && document.activeElement.matches("input, textarea")) continue;
    const open = Array.from(old.querySelectorAll("details"), (d) => d.open);
    const focus = old.contains(document.activeElement) ? document.activeElement.getAttribute("href") : null;
    old.replaceChildren(...next.childNodes);
    old.querySelectorAll("details").forEach((d, i) => { d.open = Boolean(open[i]); });
    if (focus) old.querySelector(`a[href="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
  }
  if (holds) window.scrollBy({ top: held.getBoundingClientRect().top - stood, behavior: "instant" });
  // Who cannot see the large type is told that it says something else now.
  const after = at("counsel")?.textContent;
  if (at("told") && after && after !== before) at("told").textContent = `The counsel is new: ${after}`;
  tick();
}

async function answered(yes) {
  if (yes === reached) return;
  reached = yes;
  const state = at("state");
  if (yes) {
    state.querySelector(".offline")?.remove();
    await flush();
    await refresh();
  } else if (!state.querySelector(".offline")) {
    const line = document.createElement("p");
    line.className = "offline";
    line.setAttribute("role", "status");
    line.textContent = "The bench does not answer. What it said last stays here; what you say is kept on this device and sent when it answers.";
    state.append(line);
  }
}

/* ---------------------------------------------------------------- forms in place */

async function prepare() {
  if (!at("do")) return;
  try {
    const fresh = new DOMParser().parseFromString(await (await get("/boxes")).text(), "text/html");
    boxes = new Map(Array.from(fresh.querySelectorAll("template"), (t) => [search(t.dataset.query), t]));
  } catch { /* the ones at hand stay */ }
}

function show(node) {
  const old = at("do");
  const next = document.importNode(node, true);
  old.replaceWith(next);
  document.querySelector("nav.thumb")?.toggleAttribute("hidden", Boolean(next.querySelector("form.form")));
  for (const when of next.querySelectorAll('input[type="datetime-local"]')) when.value = when.defaultValue = clock();
  waiting();
  next.scrollIntoView({ block: "start" });
  const first = next.querySelector("[role=alert], .receipt, h3, h2");
  first?.setAttribute("tabindex", "-1");
  first?.focus({ preventScroll: true });
}

function clock() {
  const now = new Date();
  return new Date(now - now.getTimezoneOffset() * 60000).toISOString().slice(0, 16);
}

document.addEventListener("click", (event) => {
  const link = event.target.closest("a[href]");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey || event.button || !at("do")) return;
  const url = new URL(link.href);
  if (url.origin !== window.location.origin || url.pathname !== "/" || url.hash !== "#do") return;
  const template = boxes.get(search(url.search));
  if (!template || window.location.pathname !== "/") return;
  event.preventDefault();
  if (url.search) show(template.content.querySelector("#do"));
  else if (link.closest("#do")) show(template.content.querySelector("#do"));
  else {
    at("do").scrollIntoView({ block: "start" });
    const head = at("do").querySelector("h2");
    head.setAttribute("tabindex", "-1");
    head.focus({ preventScroll: true }); // so that the next press of the tabulator goes on from here
  }
});

/* ---------------------------------------------------------------- saying and sending */

document.addEventListener("submit", (event) => {
  const form = event.target;
  // By attribute: a field may be called "method" or "action", and then hides the form's own.
  if (form.getAttribute("method") !== "post" || !at("do") || form.matches(".lights, [data-plain]")) return;
  event.preventDefault();
  say(form, event.submitter);
});

document.addEventListener("change", (event) => {
  const form = event.target.closest("form[data-shutter]");
  if (form && event.target.type === "file" && event.target.files.length) say(form, null);
});

async function say(form, pressed) {
  const data = new FormData(form, pressed);
  const fields = Array.from(data.entries()).filter(([, given]) => !(given instanceof File) || given.size);
  for (const field of fields) if (field[0] === "key") field[1] = queue.key();
  // What was said now is dated now, not when the form was drawn.
  const when = form.querySelector('input[name="at"]');
  if (!when) fields.push(["at", clock()]);
  else if (when.value === when.defaultValue) fields.find(([name]) => name === "at")[1] = clock();
  const item = { action: new URL(form.getAttribute("action"), window.location.href).pathname, fields, said: spoken(form, pressed), refused: "" };
  for (const button of form.querySelectorAll("button")) button.disabled = true;
  try {
    await queue.put(item);
    await flush(item, form);
  } finally {
    for (const button of form.querySelectorAll("button")) button.disabled = false;
  }
}

function spoken(form, pressed) {
  if (form.dataset.said) return form.dataset.said;
  const title = pressed?.closest(".again") ? pressed.lastChild.textContent : form.querySelector("h3, label:not(.unseen)")?.textContent || "You said";
  const given = Array.from(new FormData(form).entries()).filter(([name, v]) => typeof v === "string" && v && !["key", "do", "at", "number", "of", "what", "trial"].includes(name));
  return `${title.trim()}${given.length ? `: ${given.map(([, v]) => v.replace(/^(lot|liquid):/, "")).join(", ")}` : ""}`;
}

let flushing = null;

function flush(mine = null, form = null) {
  flushing = (flushing ?? Promise.resolve()).then(() => sendAll(mine, form)).catch(() => {});
  return flushing;
}

async function sendAll(mine, form) {
  let grown = false;
  for (const item of await queue.all()) {
    const isMine = mine !== null && item.n === mine.n;
    if (item.refused && !isMine) continue;
    let answer;
    try {
      answer = await send(item, isMine ? form : null);
    } catch {
      await answered(false);
      if (mine) show(boxes.get("")?.content.querySelector("#do") ?? at("do"));
      break;
    }
    if (answer.status >= 500 || [401, 403, 408, 429].includes(answer.status)) {
      if (isMine) await told(answer);
      break;
    }
    if (answer.status >= 400 && !isMine) {
      await queue.change({ ...item, refused: complaint(answer.text) });
      continue;
    }
    await queue.drop(item.n);
    if (answer.status < 400) {
      if (isMine) {
        if (answer.number) window.history.replaceState(null, "", `/?said=${answer.number}`);
        show(boxOf(answer.text));
        // What was advised before this is old now: nobody shall say by mistake that they did it twice.
        for (const old of document.querySelectorAll("form.did")) old.hidden = true;
      }
      grown = true;
    } else {
      show(boxOf(answer.text) ?? at("do"));
    }
  }
  await waiting();
  if (grown) {
    known.after = -1;
    await refresh().catch(() => {}); // what was kept is seen at once; answers follow as they are worked out
  }
}

function boxOf(html) {
  return new DOMParser().parseFromString(html, "text/html").getElementById("do");
}

function complaint(html) {
  const found = new DOMParser().parseFromString(html, "text/html").querySelector(".wrong, h1");
  return found ? found.textContent.replace(/\s+/g, " ").trim() : "The bench could not keep it.";
}

async function told(answer) {
  const line = document.createElement("p");
  line.className = "wrong";
  line.setAttribute("role", "alert");
  line.textContent = `${complaint(answer.text)} It is kept on this device.`;
  at("do").prepend(line);
}

function send(item, form) {
  const body = new FormData();
  for (const [name, given] of item.fields) body.append(name, given);
  const bar = form?.querySelector("progress"), line = form?.querySelector(".progress");
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("POST", item.action);
    request.setRequestHeader("x-bench", "say");
    request.upload.onprogress = (event) => {
      if (!bar || !event.lengthComputable) return;
      bar.hidden = false;
      bar.value = event.loaded / event.total;
      line.textContent = event.loaded < event.total ? `Sending, ${Math.round(100 * event.loaded / event.total)} percent` : "Reading it…";
    };
    request.onload = () => resolve({ status: request.status, text: request.responseText, number: request.getResponseHeader("x-number") });
    request.onerror = request.ontimeout = request.onabort = () => reject(new Error("no answer"));
    request.send(body);
  });
}

async function waiting() {
  const box = at("do");
  if (!box) return;
  const items = await queue.all();
  box.querySelector(".waiting")?.remove();
  if (!items.length) return;
  const part = document.createElement("div");
  part.className = "waiting";
  part.setAttribute("role", "status");
  const head = document.createElement("h3");
  head.textContent = "Kept on this device";
  const list = document.createElement("ul");
  for (const item of items) {
    const line = document.createElement("li");
    line.textContent = item.refused ? `${item.said}. ${item.refused} ` : `${item.said}. It waits to be sent. `;
    const drop = document.createElement("button");
    drop.type = "button";
    drop.className = "undo";
    drop.textContent = "Drop it";
    drop.addEventListener("click", async () => { await queue.drop(item.n); await waiting(); });
    line.append(drop);
    list.append(line);
  }
  part.append(head, list);
  box.querySelector("h2").after(part);
}

/* ---------------------------------------------------------------- read back while it is written */

let reading = 0;

document.addEventListener("input", (event) => {
  const form = event.target.closest("form[data-speak]");
  if (!form || event.target.name !== "text") return;
  window.clearTimeout(reading);
  reading = window.setTimeout(() => readBack(form), 400);
});

async function readBack(form) {
  const line = form.querySelector("[data-preview]"), text = form.elements.text.value.trim();
  if (!line || !text) return;
  try {
    const answer = await fetch("/api/say", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ text, at: clock(), dry: true }) });
    const found = await answer.json();
    if (form.elements.text.value.trim() !== text) return;
    const understood = (found.entries ?? []).map((e) => e.sentence).join(" ");
    line.textContent = found.question ? `${understood} ${found.question.text}`.trim() : understood || found.why || found.what || "";
  } catch { /* it is read back when it is sent */ }
}

/* ---------------------------------------------------------------- by keyboard alone */

function changed(form) {
  return Array.from(form.elements).some((e) => e.type !== "hidden" && (e.type === "radio" ? e.checked !== e.defaultChecked : e.type === "file" ? e.files.length : "defaultValue" in e && e.value !== e.defaultValue));
}

// Escape shuts the fold one is in, or leaves a form in which nothing was written yet.
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape" || event.isComposing || event.defaultPrevented) return;
  const fold = document.activeElement?.closest("details[open]");
  const form = document.activeElement?.closest("#do form.form:not(.speak)");
  if (fold) {
    fold.open = false;
    fold.querySelector("summary").focus();
  } else if (form && !changed(form)) form.querySelector(".send a.leave")?.click();
});

/* ---------------------------------------------------------------- time going by */

function tick() {
  for (const line of document.querySelectorAll("[data-until]")) {
    const left = Number(line.dataset.until) - Date.now();
    const item = line.closest("li");
    if (left > 0) {
      const minutes = Math.max(1, Math.round(left / 60000)), hours = Math.floor(minutes / 60);
      const text = hours >= 24 ? `${Math.floor(hours / 24)} d ${hours % 24} h` : hours ? `${hours} h ${minutes % 60} min` : `${minutes} min`;
      line.textContent = `${text} to go`;
    } else if (!item.classList.contains("over")) {
      item.classList.add("over");
      line.setAttribute("role", "status");
      line.textContent = `Over. ${line.dataset.then}.`;
      document.title = `• ${document.title}`;
      navigator.vibrate?.(200);
    }
  }
}

document.addEventListener("visibilitychange", () => { if (!document.hidden) { tick(); flush(); } });
window.addEventListener("online", () => flush());
window.setInterval(tick, 15000);
prepare();
flush();
tick();
window.setTimeout(look, 1000);
// Only over a secure connection, or on this machine itself, can a page be installed.
if (window.isSecureContext && "serviceWorker" in navigator) navigator.serviceWorker.register("/worker.js").catch(() => {});
