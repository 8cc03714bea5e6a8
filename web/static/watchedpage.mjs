// A page of a box as the instructor watches it: it is asked for again as soon as anything happens on the line.

import { Wire } from "./wire.mjs";

const SOON = 100; // milliseconds: several things at once are one

const { sitting, box } = document.body.dataset;
const wire = new Wire({ sitting, box, as: "owner" });
let due = 0;
let asked = 0;

function soon() {
  due = due || setTimeout(again, SOON);
}

function again() {
  due = 0;
  const mine = ++asked;
  fetch(location.href, { credentials: "same-origin" }).then((r) => r.text()).then((text) => {
    if (mine !== asked) return;
    const page = new DOMParser().parseFromString(text, "text/html");
    for (const part of ["main", "tl-clock"]) {
      const [was, is] = [document.querySelector(part), page.querySelector(part)];
      if (!was || !is) continue;
      const open = Array.from(was.querySelectorAll("details")).map((d) => d.open);
      Array.from(is.querySelectorAll("details")).forEach((d, n) => { d.open = d.open || !!open[n]; });
      if (!was.isEqualNode(is)) was.replaceWith(document.adoptNode(is));
    }
  }).catch(() => {}); // the next thing that happens asks again
}
for (const name of ["present", "news"]) wire.addEventListener(name, soon);
setInterval(soon, 15000); // the clock goes on
