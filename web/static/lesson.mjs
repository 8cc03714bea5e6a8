// The slip of a lesson on the learner's shelf: what is wanted beyond the bells, how often each thing has been shown, and
// at the end what went well, what to look at and what to do next.

const AGAIN = 2000; // milliseconds after which it asks how the lesson stands
const SOON = 300; // after something has happened

export class Lesson {
  constructor(shelf, slip) {
    this.shelf = shelf;
    this.slip = slip;
    shelf.wire.addEventListener("news", () => this.soon());
    this.asks = setInterval(() => this.ask(), AGAIN);
    shelf.advice().then((a) => { if (!a.on) a.turn(); });
    this.ask();
  }

  soon() {
    clearTimeout(this.asking);
    this.asking = setTimeout(() => this.ask(), SOON);
  }

  ask() {
    if (document.hidden) return;
    const { sitting, box } = this.shelf.seat;
    fetch("/s/" + encodeURIComponent(sitting) + "/lesson/" + encodeURIComponent(box), { credentials: "same-origin" })
      .then((r) => (r.ok ? r.json() : null)).then((now) => { if (now) this.draw(now); }, () => {}); // the wire tells when the program is away
  }

  draw(now) {
    const [order, goals, ended, details] = [".order", ".goals", ".ended", "details"].map((at) => this.slip.querySelector(at));
    set(order, (now.orders || []).join(" "));
    const lines = now.goals.map((g) => g.words + ": " + g.good + " of " + g.of + (g.bad ? ", " + g.bad + " not so" : ""));
    if (goals.dataset.shown !== lines.join("|")) {
      goals.dataset.shown = lines.join("|");
      goals.textContent = "";
      now.goals.forEach((g, n) => {
        const li = goals.appendChild(document.createElement("li"));
        const tally = li.appendChild(document.createElement("span"));
        tally.className = "tally";
        tally.setAttribute("aria-hidden", "true");
        for (let k = 0; k < g.of; k++) tally.appendChild(document.createElement("i")).className = k < g.good ? "done" : "";
        li.appendChild(document.createTextNode(lines[n]));
      });
    }
    if (now.goals.some((g) => g.good > 0) && !this.folded) {
      this.folded = true;
      details.open = false;
    }
    if (now.over && !this.over) this.end(now, ended);
  }

  // end lays the judge's words on the shelf. The line goes on: who likes may work it longer.
  end(now, ended) {
    this.over = true;
    clearInterval(this.asks);
    ended.textContent = "";
    const h = ended.appendChild(document.createElement("h2"));
    h.textContent = now.passed ? "You can do this" : "Not yet";
    for (const words of now.words) ended.appendChild(document.createElement("p")).textContent = words;
    const ways = ended.appendChild(document.createElement("p"));
    const link = (to, words) => {
      const a = ways.appendChild(document.createElement("a"));
      a.className = "button";
      a.href = to;
      a.textContent = words;
    };
    if (now.next) link("/lessons#lesson-" + now.next, "The next lesson");
    link("/lessons", "All lessons");
    link("/s/" + encodeURIComponent(this.shelf.seat.sitting) + "/findings", "What went against the regulations");
    ended.hidden = false;
    this.slip.classList.add("over");
  }
}

function set(e, words) {
  if (e.textContent !== words) e.textContent = words;
}
