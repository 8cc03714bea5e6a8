// The owner's page and the page that asks for his key. Both work without this script; with it the key may come behind
// the # of the address, the page keeps itself fresh, and what cannot be taken back wants a second press.

import { sure } from "./sure.mjs";

const FRESH = 2000; // milliseconds after which the line is looked at again

const says = document.querySelector(".says");

function say(words) {
  says.textContent = words;
  says.classList.toggle("on", words !== "");
}

function post(address, fields) {
  const asked = { method: "POST", credentials: "same-origin", headers: { Accept: "application/json" }, body: new URLSearchParams(fields) };
  return fetch(address, asked).then((r) => r.json().then((answer) => {
    if (!r.ok) throw new Error(answer.words);
    return answer;
  }), () => { throw new Error("No word from taillamp: it may have been stopped."); });
}

// --- the key

function tryKey(key) {
  say("");
  post("/owner", { key }).then((answer) => location.replace(answer.at), (why) => say(why.message));
}

function asksForKey(form) {
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    tryKey(form.elements.key.value);
  });
  const fromAddress = () => {
    const key = decodeURIComponent(location.hash.slice(1));
    history.replaceState(null, "", location.pathname); // it is not to stay on the screen or among the pages seen
    if (key) tryKey(key);
  };
  addEventListener("hashchange", fromAddress);
  fromAddress();
}

// --- the line

function oversees(main) {
  let last = null; // the button pressed last, for browsers that do not say which one sent a form
  main.addEventListener("click", (e) => {
    const button = e.target.closest("button");
    if (!button) return;
    last = button;
    if (!sure(button)) e.preventDefault();
  });
  main.addEventListener("submit", (e) => {
    e.preventDefault();
    const form = e.target;
    const button = e.submitter || (last && last.form === form ? last : form.querySelector("button"));
    const fields = new FormData(form);
    fields.set(button.name, button.value);
    button.disabled = true;
    delete button.dataset.sure;
    post(main.dataset.owner, fields).then(() => {
      say("");
      if (form.classList.contains("remark")) {
        form.reset();
        if (document.activeElement.form === form) document.activeElement.blur();
      }
    }, (why) => say(why.message)).then(() => {
      button.disabled = false;
      return look();
    });
  });
  setInterval(() => { if (!document.hidden) look(); }, FRESH);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) look(); });

  let lost = false;
  function look() {
    return fetch(main.dataset.owner, { credentials: "same-origin" }).then((r) => r.text().then((text) => [r.ok, text])).catch(
      () => [false, "No word from taillamp. What stands here may be old."],
    ).then(([good, text]) => {
      if (!good || lost) say(good ? "" : text.trim());
      lost = !good;
      if (good) show(new DOMParser().parseFromString(text, "text/html"));
    });
  }
}

// show puts what is new in the place of what was shown, and leaves alone what a hand is at.
function show(fresh) {
  for (const part of document.querySelectorAll("[data-live]")) {
    const next = fresh.querySelector('[data-live="' + part.dataset.live + '"]');
    if (!next) continue;
    if (part.dataset.live !== "rows" || part.children.length !== next.children.length) {
      renew(part, next);
      continue;
    }
    const rows = Array.from(next.children); // as they stand now: those taken over leave it
    Array.from(part.children).forEach((row, n) => renew(row, rows[n]));
  }
}

function renew(shown, next) {
  for (const details of Array.from(shown.querySelectorAll("details"))) {
    const coming = next.querySelector(details.className ? "details." + details.className : "details");
    if (coming) coming.open = details.open;
  }
  if (shown.contains(document.activeElement) && document.activeElement.matches("input, select")) return; // somebody writes there
  if (shown.isEqualNode(next) || shown.querySelector("[data-sure], button:disabled")) return;
  const at = shown.contains(document.activeElement) ? document.activeElement.getAttribute("aria-label") || document.activeElement.textContent : "";
  const fresh = document.adoptNode(next);
  shown.replaceWith(fresh);
  if (!at) return;
  const again = Array.from(fresh.querySelectorAll("button, summary")).find((e) => (e.getAttribute("aria-label") || e.textContent) === at);
  if (again) again.focus();
}

const form = document.querySelector("form.key");
if (form) asksForKey(form);
else oversees(document.querySelector("main"));
