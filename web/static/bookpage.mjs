// The whole register of a box, live: when the wire tells of a line, the page is asked for again and laid in its place,
// so that the form of a book is written down once. Who works the box may rule an entry through here too; this page has
// no seat of its own on the wire, which would take the box page's away, so it asks by the browser's ticket.

import { Wire } from "./wire.mjs";
import { ruled } from "./ruled.mjs";
import { pathOf } from "./duty.mjs";

const { sitting, box, as } = document.body.dataset;
const wire = new Wire({ sitting, box, as });
let asked = 0;

// mark shows the entry that the page was opened for; the line in which it stands may have been laid anew meanwhile.
function mark() {
  const entry = document.getElementById(location.hash.slice(1));
  if (entry) entry.classList.add("sought");
}
mark();

function again() {
  const mine = ++asked;
  fetch(location.href, { credentials: "same-origin" }).then((r) => r.text()).then((text) => {
    if (mine !== asked) return;
    const page = new DOMParser().parseFromString(text, "text/html");
    document.body.classList.toggle("looking", page.body.classList.contains("looking"));
    document.body.dataset.seq = page.body.dataset.seq;
    const spread = document.querySelector(".spread");
    spread.textContent = "";
    for (const side of Array.from(page.querySelectorAll(".spread > .page"))) spread.appendChild(document.adoptNode(side));
    document.querySelector(".turning").replaceWith(document.adoptNode(page.querySelector(".turning")));
    mark();
  }).catch(() => {}); // the next line asks again
}
wire.addEventListener("present", (e) => {
  if (String(e.detail.seq) !== document.body.dataset.seq) again(); // most often the page is as new as the wire
});
wire.addEventListener("news", (e) => {
  if (e.detail.lines && e.detail.lines.length) again();
});

// byHand does what a pen does, and says what the program answers if it will not.
function byHand(what, form, lost, done) {
  const says = document.querySelector(".book .says");
  fetch(pathOf(sitting, what, box), { method: "POST", credentials: "same-origin", body: new URLSearchParams(form) })
    .then((r) => (r.ok ? "" : r.text()), () => "The program cannot be reached. " + lost)
    .then((words) => {
      says.textContent = words;
      says.classList.toggle("on", words !== "");
      if (!words && done) done();
    });
}
ruled(document.querySelector(".spread"), (line) => byHand("rule", { line }, "Nothing was ruled through."));

const pen = document.querySelector(".pen");
pen.addEventListener("submit", (e) => {
  e.preventDefault();
  const words = pen.elements.words.value;
  byHand("remark", { words }, "Nothing was written.", () => pen.reset());
});

// A leaf is turned by the arrows too, as long as nothing is being written.
document.addEventListener("keydown", (e) => {
  const to = { ArrowLeft: "prev", ArrowRight: "next" }[e.key];
  const link = to && !e.target.closest("input, .ruling") && document.querySelector('.turning [rel="' + to + '"]');
  if (link) location.assign(link.href);
});
