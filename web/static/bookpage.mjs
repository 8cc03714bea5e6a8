// The whole register of a box, live: when the wire tells of a line, the page is asked for again and laid in its place,
// so that the form of a book is written down once.

import { Wire } from "./wire.mjs";

const { sitting, box } = document.body.dataset;
const wire = new Wire({ sitting, box, as: "book" });
let asked = 0;

function again() {
  const mine = ++asked;
  fetch(location.href, { credentials: "same-origin" }).then((r) => r.text()).then((text) => {
    if (mine !== asked) return;
    const fresh = new DOMParser().parseFromString(text, "text/html").querySelector(".spread");
    document.querySelector(".spread").replaceWith(document.adoptNode(fresh));
  }).catch(() => {}); // the next line asks again
}
wire.addEventListener("present", again);
wire.addEventListener("news", (e) => {
  if (e.detail.lines && e.detail.lines.length) again();
});
