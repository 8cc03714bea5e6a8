// <tl-notice>: the next trains of the sequence. A touch of one says that the next code is about it.

const NEXT = 3;
const GONE = "withdrawn";

export class Notice extends HTMLElement {
  connectedCallback() {
    if (this.wired) return;
    this.wired = true;
    this.touched = "";
    this.addEventListener("click", (e) => {
      const row = e.target.closest("li[data-train]");
      if (row) this.touch(row.dataset.train === this.touched ? "" : row.dataset.train);
    });
  }

  touch(train) {
    this.touched = train;
    for (const row of this.querySelectorAll("li[data-train]")) {
      row.firstElementChild.setAttribute("aria-pressed", String(row.dataset.train === train));
    }
  }

  // display takes the next trains; names turns a box's initials into its name.
  display(trains, names) {
    const list = this.querySelector("ol");
    list.textContent = "";
    let left = NEXT; // one withdrawn stands ruled through beside them
    for (const t of trains) {
      if (left > 0) list.appendChild(row(t, names));
      left -= t.change !== GONE;
    }
    if (!trains.length) {
      const li = document.createElement("li");
      li.className = "none";
      li.textContent = "No more trains in the sequence.";
      list.appendChild(li);
    }
    this.touch(trains.some((t) => t.train === this.touched) ? this.touched : "");
  }
}

function row(t, names) {
  const li = document.createElement("li");
  li.dataset.train = t.train;
  const button = document.createElement("button");
  button.type = "button";
  const parts = [["time", t.booked || ""], ["b", t.code], ["span", wordsOf(t, names)]];
  for (const [tag, text] of parts) {
    const part = document.createElement(tag);
    part.textContent = text;
    button.appendChild(part);
  }
  const marks = [t.change, t.change !== GONE && t.late && t.late + " min late"].filter(Boolean);
  if (marks.length) {
    const em = document.createElement("em");
    em.textContent = marks.join(", ");
    button.lastElementChild.append(" ", em);
  }
  li.className = t.change || "";
  button.disabled = t.change === GONE;
  li.appendChild(button);
  return li;
}

// wordsOf says class, from and to.
function wordsOf(t, names) {
  return (t.class ? t.class + " · " : "") + (names[t.from] || t.from) + " to " + (names[t.to] || t.to);
}
customElements.define("tl-notice", Notice);
