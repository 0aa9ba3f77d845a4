// The page works without this. It only says when a newer answer is ready, and
// shows it by itself where that would take nothing out of anybody's hands.
"use strict";

const line = document.querySelector("[data-working]");

function inUse() {
  const fields = document.querySelectorAll("form.form input:not([type=hidden]), form.form textarea");
  return fields.length > 0 || window.scrollY > 40;
}

async function look() {
  let status;
  try {
    const answer = await fetch("/api/status", { headers: { accept: "application/json" } });
    status = await answer.json();
  } catch {
    window.setTimeout(look, 5000);
    return;
  }
  if (status.working) {
    window.setTimeout(look, 1000);
  } else if (inUse()) {
    line.querySelector("span").textContent = "It is worked out.";
    line.querySelector("a").textContent = "Show it";
  } else {
    window.location.reload();
  }
}

if (line) window.setTimeout(look, 1000);
