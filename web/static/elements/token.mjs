// <tl-token>: the token instrument of a single line. It shows what it says and where the token is, and asks for what a
// hand can do there; what it may not do, the instrument itself refuses.

export class TokenInstrument extends HTMLElement {
  connectedCallback() {
    if (this.wired) return;
    this.wired = true;
    this.addEventListener("click", (e) => {
      const button = e.target.closest("button[data-where]");
      if (!button) return;
      const detail = { do: "token", where: button.dataset.where, section: this.dataset.section };
      if (detail.where === "unlocked") detail.off = this.hasAttribute("open");
      this.dispatchEvent(new CustomEvent("act", { bubbles: true, detail }));
    });
  }

  // display takes the line as the record has it; name is the neighbour's.
  display(line, name) {
    const t = line.token;
    if (line.staff) this.staff(line.staff);
    if (!t) return;
    const words = wordsOf(t, name);
    const set = (selector, text) => {
      const e = this.querySelector(selector);
      if (e.textContent !== text) e.textContent = text;
    };
    this.setAttribute("shows", t.shows);
    set(".says-1", words[0]);
    set(".says-2", words[1]);
    set(".whereabouts", whereOf(t));
    this.querySelector(".release").classList.toggle("on", !!t.release);
    set(".release", releaseOf(t, name));
    const may = mayOf(t);
    for (const b of this.querySelectorAll("button[data-where]")) b.hidden = may.indexOf(b.dataset.where) < 0;
    const keys = this.querySelectorAll(".keys i");
    for (let i = 0; i < keys.length; i++) keys[i].hidden = i >= (t.here || 0);
  }

  // staff shows where the staff of the line is, in the words that came with it.
  staff(s) {
    this.setAttribute("shows", s.shows);
    this.toggleAttribute("open", !!s.open);
    this.querySelector(".whereabouts").textContent = s.says;
    for (const b of this.querySelectorAll("button[data-where]")) b.hidden = s.may.indexOf(b.dataset.where) < 0;
  }
}

// wordsOf are the two lines in the instrument's window.
function wordsOf(t, name) {
  switch (t.shows) {
    case "going": return ["TRAIN GOING", "to " + name];
    case "coming": return ["TRAIN COMING", "from " + name];
    case "out": return ["TOKEN OUT", ""];
  }
  return ["TOKEN IN", ""];
}

function whereOf(t) {
  if (!t.out) return (t.here || 0) + (t.here === 1 ? " token here" : " tokens here");
  if (t.hand === "box") return "The token is in your hand.";
  if (t.hand === "train") return "The train has the token.";
  return "The token is away.";
}

function releaseOf(t, name) {
  if (t.release) return name + " releases: draw";
  if (t.holding) return "You hold the key for " + name;
  return "no release";
}

// mayOf is what a hand could do here, right or wrong.
function mayOf(t) {
  if (!t.out) return ["drawn"];
  if (t.hand === "box") return ["handed", "restored"];
  if (t.hand === "train") return ["given"];
  return ["given", "restored"];
}
customElements.define("tl-token", TokenInstrument);
