// The telephone: a written line to each neighbour, or one that all boxes share. It rings until it is answered; what is
// said stands in the record, and in the book if the signaller says so.

const RING = 1500; // milliseconds between two rings
const LONGEST = 480; // bytes of a remark, near enough

export class Telephone {
  constructor(shelf) {
    this.shelf = shelf;
    this.strip = document.querySelector(".strip.ringing");
    this.strip.querySelector("button").addEventListener("click", () => this.lift(this.from));
    document.addEventListener("click", (e) => this.press(e));
    document.addEventListener("keydown", (e) => {
      if (e.key === "Enter" && e.target.closest(".telephone .speak")) this.say(e.target.closest("section"));
    });
    setInterval(() => this.sound(), RING);
  }

  name(box) {
    return this.shelf.page.names[box] || box;
  }

  section(circuit) {
    return Array.from(document.querySelectorAll(".telephone section")).find((s) => s.dataset.circuit === circuit);
  }

  // show takes how every line of this box stands.
  show(phones) {
    this.phones = phones;
    const me = this.shelf.seat.box;
    let rings = null;
    for (const p of phones) {
      const section = this.section(p.circuit || "");
      if (!section) continue;
      const on = (p.on || []).includes(me);
      const talks = on && p.on.length > 1;
      if (p.rings && p.rings !== me) rings = p;
      section.className = talks ? "talks" : on || p.dead ? "on" : "";
      section.querySelector(".lift").textContent = p.rings && p.rings !== me ? "Answer" : "Ring";
      const list = section.querySelector("ol");
      list.textContent = "";
      const line = (words) => {
        const item = document.createElement("li");
        item.textContent = words;
        list.append(item);
      };
      for (const s of p.said || []) line(this.words(s));
      if (p.dead) line("No sound on the line.");
      else if (on && p.rings === me) line("It rings there.");
      else if (on && !talks) line("The other end has put down.");
      section.querySelector(".into-book").hidden = !(p.said || []).length;
    }
    this.from = rings ? rings.circuit || "" : null;
    const words = rings ? "The telephone rings: " + this.name(rings.rings) + "." : "";
    const span = this.strip.querySelector("span");
    if (span.textContent !== words) {
      span.textContent = words;
      if (words) this.shelf.plate(words);
    }
    this.strip.hidden = !rings;
  }

  words(s) {
    return this.name(s.by) + " " + this.clock(s.clock) + ": " + s.words;
  }

  clock(seconds) {
    const m = Math.floor(seconds / 60);
    return Math.floor(m / 60) % 24 + "." + String(m % 60).padStart(2, "0");
  }

  // sound is the telephone's own ring, not to be taken for a bell of the shelf.
  sound() {
    if (this.strip.hidden) return;
    for (let n = 0; n < 6; n++) setTimeout(() => this.shelf.bells.home("click"), 60 * n);
    if (navigator.vibrate) navigator.vibrate([60, 40, 60]);
  }

  press(e) {
    const section = e.target.closest(".telephone section");
    const button = e.target.closest("button");
    if (!section || !button) return;
    const circuit = section.dataset.circuit;
    if (button.classList.contains("lift")) this.lift(circuit);
    else if (button.classList.contains("down")) this.shelf.act({ do: "call", circuit, off: true });
    else if (button.classList.contains("say")) this.say(section);
    else if (button.classList.contains("into-book")) this.book(circuit, button);
  }

  lift(circuit) {
    document.querySelector(".telephone").open = true;
    this.shelf.act({ do: "call", circuit });
    const section = this.section(circuit);
    section.querySelector("input").focus();
  }

  say(section) {
    const field = section.querySelector("input");
    const words = field.value.trim();
    if (!words) return;
    this.shelf.act({ do: "call", circuit: section.dataset.circuit, words });
    field.value = "";
  }

  // book writes the call into the remarks, as far as there is room.
  book(circuit, button) {
    const p = this.phones.find((x) => (x.circuit || "") === circuit);
    const words = "By telephone. " + p.said.map((s) => this.words(s)).join("; ");
    this.shelf.act({ do: "remark", words: words.slice(0, LONGEST / 2) });
    button.hidden = true;
  }
}
