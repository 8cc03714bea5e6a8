// <tl-needle>: one block indicator. Where this box turns it, a touch of a word or a drag of the needle asks for it; the
// needle itself moves only when the record has it.

const WORDS = { clear: "Line clear", blocked: "Line blocked", occupied: "Train on line" };
const CENTRES = [["clear", -60], ["blocked", 0], ["occupied", 60]];

// countOf says how many trains a permissive line holds by its indicator; the words are those of the page as served.
function countOf(line) {
  const n = line.count || 0;
  return "Count " + n + ", room for " + (line.room || 0) + " more." + (n ? " Stop each driver and tell him that the line is occupied." : "");
}

export class Needle extends HTMLElement {
  connectedCallback() {
    if (this.wired) return;
    this.wired = true;
    const words = this.querySelector(".words");
    if (!words) return;
    words.addEventListener("pointerdown", (e) => this.grip(e, words));
    words.addEventListener("click", (e) => {
      const button = e.target.closest("button");
      if (button && !this.taken) this.ask(button.dataset.show); // a key, or a screen reader: no finger came first
      this.taken = false;
    });
  }

  // grip follows a finger from its touch to its lift; what it points at then is asked for.
  grip(e, words) {
    e.preventDefault();
    this.taken = true;
    words.setPointerCapture(e.pointerId);
    let show = this.toward(e);
    this.setAttribute("wants", show);
    const move = (m) => {
      show = this.toward(m);
      this.setAttribute("wants", show);
    };
    const end = (up) => {
      words.removeEventListener("pointermove", move);
      words.removeEventListener("pointerup", end);
      words.removeEventListener("pointercancel", end);
      setTimeout(() => { this.taken = false; }, 60);
      if (up.type === "pointerup") this.ask(show);
      else this.removeAttribute("wants");
    };
    words.addEventListener("pointermove", move);
    words.addEventListener("pointerup", end);
    words.addEventListener("pointercancel", end);
  }

  // toward is the word that the finger points at, seen from the pivot.
  toward(e) {
    const r = this.querySelector("svg").getBoundingClientRect();
    const angle = Math.atan2(e.clientX - (r.left + r.width / 2), Math.max(1, r.bottom - 4 - e.clientY)) * 180 / Math.PI;
    let best = CENTRES[0];
    for (const c of CENTRES) if (Math.abs(c[1] - angle) < Math.abs(best[1] - angle)) best = c;
    return best[0];
  }

  ask(show) {
    this.setAttribute("wants", show);
    this.dispatchEvent(new CustomEvent("act", { bubbles: true, detail: { do: "turn", section: this.dataset.section, show } }));
  }

  // refused lets the handle spring back.
  refused() {
    this.removeAttribute("wants");
    this.classList.remove("back");
    void this.offsetWidth;
    this.classList.add("back");
  }

  answered() {
    this.removeAttribute("wants");
  }

  // display takes the line as the record has it.
  display(line) {
    if (this.getAttribute("shows") !== line.shows) this.setAttribute("shows", line.shows);
    this.querySelector(".word").textContent = WORDS[line.shows] || "";
    const count = this.querySelector(".count");
    if (count) count.textContent = countOf(line);
    if (line.collar) this.setAttribute("collar", "");
    else this.removeAttribute("collar");
    for (const b of this.querySelectorAll(".words button")) b.setAttribute("aria-pressed", String(b.dataset.show === line.shows));
  }
}
customElements.define("tl-needle", Needle);
