// <tl-lamp>: the tail lamp of a train coming to this box. It must be held for 0.6 s: a brush of the hand sees nothing.

const HOLD = 600; // milliseconds

// PLACES are where a train can be seen before its tail has been.
const PLACES = { stands: "at the home signal", heads: "is here: hold", arrives: "is in" };

export class Lamp extends HTMLElement {
  connectedCallback() {
    if (this.wired) return;
    this.wired = true;
    const button = this.querySelector("button");
    const down = () => {
      if (this.timer || document.body.classList.contains("looking")) return;
      button.classList.add("held");
      this.timer = setTimeout(() => this.saw(), HOLD);
    };
    const up = () => {
      clearTimeout(this.timer);
      this.timer = 0;
      button.classList.remove("held");
    };
    button.addEventListener("pointerdown", (e) => {
      e.preventDefault();
      button.setPointerCapture(e.pointerId);
      down();
    });
    for (const name of ["pointerup", "pointercancel", "blur"]) button.addEventListener(name, up);
    button.addEventListener("keydown", (e) => {
      if (e.key !== " " && e.key !== "Enter") return;
      e.preventDefault();
      if (!e.repeat) down();
    });
    button.addEventListener("keyup", up);
    button.addEventListener("click", (e) => e.detail || this.saw()); // a screen reader's press is no brush
    button.addEventListener("contextmenu", (e) => e.preventDefault());
  }

  saw() {
    const detail = { do: "train", where: "passes", lamp: "seen", section: this.dataset.section };
    this.dispatchEvent(new CustomEvent("act", { bubbles: true, detail }));
  }

  // display tells what of a line's trains can be seen from the window.
  display(line) {
    const seen = (line.trains || []).filter((t) => PLACES[t.where]);
    const last = seen[seen.length - 1];
    const words = last ? (last.train ? "no. " + last.train + " " : "a train ") + PLACES[last.where] : "hold";
    const small = this.querySelector("small");
    if (small.textContent !== words) small.textContent = words;
    this.querySelector("button").classList.toggle("sight", !!last && last.where !== "stands");
  }

  // marked shows for a moment that the record has it.
  marked() {
    const button = this.querySelector("button");
    button.classList.add("seen");
    setTimeout(() => button.classList.remove("seen"), 1500);
  }
}
customElements.define("tl-lamp", Lamp);
