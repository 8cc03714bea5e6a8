// The register kept by hand. Without this script every touch is an ordinary form; with it the page stays where it was
// scrolled to, the clock goes, and what is written can be ruled through like an entry of the other register.

import "./elements/clock.mjs";
import { Wire } from "./wire.mjs";
import { ruled } from "./ruled.mjs";
import { pathOf } from "./duty.mjs";

const { sitting, box, fast } = document.body.dataset;
const time = document.querySelector("tl-clock");
const form = document.querySelector(".writing");

// The box page that this one was opened from hides its foot of the book, or shows it again.
try {
  if (window.opener && opener.location.pathname === pathOf(sitting, "box", box)) opener.document.body.classList.toggle("by-hand", !!form);
} catch (e) { /* it shows something else by now */ }

if (form) {
  const wire = new Wire({ sitting, box, as: "book" });
  const set = (clock, at) => time.set(Object.assign({}, clock, { at: clock.at + Number(fast) }), at, wire.clock);
  wire.addEventListener("present", (e) => { if (e.detail.clock) set(e.detail.clock, e.detail.now); });
  wire.addEventListener("news", (e) => { if (e.detail.clock) set(e.detail.clock, e.detail.at); });

  // lay puts the page that was answered in the place of this one.
  const lay = (text, wrote) => {
    const page = new DOMParser().parseFromString(text, "text/html");
    if (!page.querySelector(".writing")) return location.reload();
    const sides = Array.from(page.querySelectorAll(".page"));
    Array.from(document.querySelectorAll(".page")).forEach((side, n) => side.replaceWith(document.adoptNode(sides[n])));
    says(page.querySelector(".says").textContent);
    if (wrote) form.reset();
    return null;
  };
  const says = (words) => {
    const p = document.querySelector(".says");
    p.textContent = words;
    p.classList.toggle("on", words !== "");
  };
  const lost = () => says("The program cannot be reached. Nothing was written.");
  const again = () => fetch(location.href, { credentials: "same-origin" }).then((r) => r.text()).then((t) => lay(t, false));

  form.addEventListener("click", (e) => {
    const button = e.target.closest("button[name]");
    if (!button) return;
    e.preventDefault();
    const wrote = new URLSearchParams(new FormData(form));
    wrote.set(button.name, button.value);
    fetch(location.href, { method: "POST", credentials: "same-origin", body: wrote })
      .then((r) => r.text().then((t) => lay(t, r.ok))).catch(lost);
  });
  ruled(document.querySelector(".spread"), (line) => {
    fetch(pathOf(sitting, "rule", box), { method: "POST", credentials: "same-origin", body: new URLSearchParams({ line }) })
      .then((r) => (r.ok ? again() : r.text().then(says))).catch(lost);
  });
}
