// Ruling an entry of one's own book through. A touch of a filled cell only asks; the entry stays legible whatever is
// answered, and nothing is ever rubbed out.

const GAP = 4; // CSS pixels between the line of the book and the slip that asks

export class Ruling {
  // book: what the ruled lines stand in. rule(seq) rules an entry of the record through.
  constructor(book, rule) {
    this.book = book;
    this.rule = rule;
    this.cell = null; // the one asked about
    this.slip = document.querySelector(".ruling");
    this.slip.addEventListener("click", (e) => this.answered(e));
    this.slip.addEventListener("keydown", (e) => {
      if (e.key === "Escape") this.leave(true);
    });
    addEventListener("resize", () => { if (this.cell) this.mark(); }); // a tablet may be turned meanwhile
    new MutationObserver(() => this.follow()).observe(book, { childList: true, subtree: true });
  }

  ask(cell) {
    this.leave();
    this.cell = cell;
    const line = cell.closest("tr").querySelector("th") || cell; // across the page it is the whole line
    const train = line.textContent.trim().replace(/\s+/g, " ").replace(/\.$/, "");
    this.slip.querySelector(".what").textContent = (cell.dataset.label ? cell.dataset.label + " " + cell.dataset.time + ", " : "") + train + ".";
    this.slip.hidden = false;
    this.mark();
    this.slip.querySelector(".no").focus({ preventScroll: true });
  }

  // mark shows which entry is asked about, and lays the slip under its line, or over it at the foot of the screen.
  mark() {
    this.cell.classList.add("asked");
    const at = this.cell.getBoundingClientRect();
    const size = this.slip.getBoundingClientRect();
    const room = document.documentElement.clientWidth - size.width - GAP;
    const left = Math.max(GAP, Math.min(room, at.left + at.width / 2 - size.width / 2));
    let top = at.bottom + GAP;
    if (top + size.height > innerHeight) top = Math.max(GAP, at.top - size.height - GAP);
    this.slip.style.left = left + pageXOffset + "px";
    this.slip.style.top = top + pageYOffset + "px";
  }

  // follow goes on asking about the same entry when its line is written anew, as long as it stands.
  follow() {
    if (!this.cell || this.book.contains(this.cell)) return;
    const { seq, column } = this.cell.dataset;
    this.cell = Array.from(this.book.querySelectorAll("td[data-seq]")).find((c) => c.dataset.seq === seq && c.dataset.column === column);
    if (this.cell) this.mark();
    else this.leave();
  }

  answered(e) {
    const button = e.target.closest("button");
    if (!button) return;
    const seq = this.cell && Number(this.cell.dataset.seq);
    this.leave(true);
    if (seq && button.classList.contains("yes")) this.rule(seq);
  }

  // leave asks no more. back: the focus goes to where it came from.
  leave(back) {
    if (this.cell) this.cell.classList.remove("asked");
    if (this.cell && back) this.cell.focus({ preventScroll: true });
    this.cell = null;
    this.slip.hidden = true;
  }
}
