// Advice for one tablet: the next act, why, and by which regulation. It speaks after a while, later after each act of
// that kind done right without it, and is never heard by anybody else. It rings nothing and turns nothing.

const FIRST = 3000; // milliseconds before it speaks
const LAST = 30000; // and never later than that
const KEPT = "taillamp-advice"; // where this tablet keeps whether it wants advice, and what its hand does well
const AGAIN = 4000; // how often it asks when nothing happens: time alone may make something due
const SOON = 200; // after something has happened

export class Advice {
  constructor(shelf, strip, button) {
    this.shelf = shelf;
    this.strip = strip;
    this.button = button;
    this.next = null; // what is advised now
    this.since = 0;
    this.shown = false;
    this.acted = false; // before it was shown
    const kept = read();
    this.on = kept.on;
    this.right = kept.right;
    for (const name of ["present", "news"]) shelf.wire.addEventListener(name, () => this.soon());
    for (const name of ["beat", "act"]) document.body.addEventListener(name, () => this.act());
    strip.querySelector("button").addEventListener("click", () => this.show());
    setInterval(() => this.ask(), AGAIN);
    this.draw();
    this.ask();
  }

  turn() {
    this.on = !this.on;
    this.keep();
    this.draw();
    this.ask();
  }

  keep() {
    try {
      localStorage.setItem(KEPT, JSON.stringify({ on: this.on, right: this.right }));
    } catch (e) { /* a browser that keeps nothing forgets it */ }
  }

  soon() {
    clearTimeout(this.asking);
    this.asking = setTimeout(() => this.ask(), SOON);
  }

  ask() {
    if (!this.on || document.hidden) return;
    const { sitting, box } = this.shelf.seat;
    fetch("/s/" + encodeURIComponent(sitting) + "/advice/" + encodeURIComponent(box)).then((r) => (r.ok ? r.json() : null))
      .then((next) => { if (next) this.take(next); }, () => {}); // the wire tells when the program is away
  }

  // act is the hand's own doing: while it is at work it is not spoken to.
  act() {
    if (this.shown || !this.next) return;
    this.acted = true;
    this.since = performance.now();
  }

  take(next) {
    const was = this.next;
    const same = was && was.kind === next.kind && was.act === next.act;
    if (!same) {
      if (was && was.kind && this.acted) this.learnt(was.kind);
      this.since = performance.now();
      this.shown = false;
      this.acted = false;
      clearTimeout(this.speaking);
    }
    this.next = next;
    if (!next.kind) this.show();
    else if (!this.shown) {
      const left = this.wait(next.kind) - (performance.now() - this.since);
      clearTimeout(this.speaking);
      if (left > 0) this.speaking = setTimeout(() => this.take(this.next), left + 1);
      else this.show();
    }
    this.draw();
  }

  wait(kind) {
    return Math.min(LAST, FIRST * (1 + (this.right[kind] || 0)));
  }

  learnt(kind) {
    this.right[kind] = (this.right[kind] || 0) + 1;
    this.keep();
  }

  show() {
    this.shown = true;
    this.draw();
  }

  draw() {
    this.button.setAttribute("aria-pressed", String(this.on));
    this.strip.hidden = !this.on;
    for (const e of document.querySelectorAll(".advised")) e.classList.remove("advised");
    if (!this.on || !this.next) return;
    const [act, why, ask] = ["b", "span", "button"].map((tag) => this.strip.querySelector(tag));
    ask.hidden = this.shown;
    set(act, this.shown ? this.next.act : "Something is to be done.");
    set(why, this.shown ? [this.next.why, this.next.rule].filter(Boolean).join(" ") : "");
    if (this.shown && this.next.kind) mark(this.next);
  }
}

// mark puts a ring round what the advice speaks of.
function mark(next) {
  const beside = (name, value, inner) => Array.from(document.querySelectorAll("[data-" + name + "]"))
    .filter((e) => e.dataset[name] === value).map((e) => e.querySelector(inner)).find(Boolean);
  const at = next.show ? beside("section", next.section, '[data-show="' + next.show + '"]')
    : beside("circuit", next.circuit, ".plunger");
  if (at) at.classList.add("advised");
}

function set(e, words) {
  if (e.textContent !== words) e.textContent = words;
}

function read() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEPT)) || {};
    return { on: !!kept.on, right: kept.right || {} };
  } catch (e) {
    return { on: false, right: {} };
  }
}
