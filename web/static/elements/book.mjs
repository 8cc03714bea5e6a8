// <tl-book>: the foot of the register. The lines come from the record as they are written; a touch of an open cell
// books arrived, passed or departed.

import { writeRow } from "../lines.mjs";

const FOOT = 6; // lines kept at the foot of the book

export class Book extends HTMLElement {
  connectedCallback() {
    if (this.wired) return;
    this.wired = true;
    this.lines = new Map();
    this.addEventListener("click", (e) => {
      const button = e.target.closest("[data-book]");
      if (button) this.touch(button.dataset.book, this.lines.get(button.closest("tr").dataset.id));
    });
  }

  touch(column, line) {
    if (!line) return;
    const out = line.cells.some((c) => c.column === "out_of_section_sent"); // then it is booked late, and moves nothing
    const act = { do: "train", where: "departs", section: line.to || line.from };
    if (column === "arrived") Object.assign(act, { where: out ? column : "arrives", section: line.from });
    if (column === "passed") Object.assign(act, { where: out ? column : "passes", section: line.from });
    if (line.train) act.train = line.train;
    this.dispatchEvent(new CustomEvent("act", { bubbles: true, detail: act }));
  }

  // whole takes the whole book, some the lines that have changed.
  whole(lines) {
    this.lines.clear();
    this.some(lines);
  }

  some(lines) {
    for (const line of lines) this.lines.set(String(line.id), line);
    this.write();
  }

  write() {
    const foot = footOf(Array.from(this.lines.values()));
    const body = this.querySelector("tbody");
    const rows = foot.map((line) => writeRow(line));
    while (rows.length < 2) rows.push(writeRow(null));
    body.textContent = "";
    for (const row of rows) body.appendChild(row);
  }
}

// footOf are the last lines of the book, and before them every line that is still open.
function footOf(lines) {
  const last = lines.slice(-3);
  const open = lines.slice(0, -3).filter((l) => l.kind === "train" && !l.complete && !l.void);
  return open.concat(last).slice(-FOOT);
}
customElements.define("tl-book", Book);
