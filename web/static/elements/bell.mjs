// <tl-bell>: the plunger to one neighbour and what was last heard from there: the beats as the hand left them, the code
// they were read as, and what it means if the box's settings say so in words.

const PALM = 150; // CSS pixels, about 40 mm: a hand laid on the glass rings nothing
const HELD = 600; // milliseconds after which a beat kept down gives the token release
const FADE = 10000; // milliseconds for which the beats stay in full

export class Bell extends HTMLElement {
  connectedCallback() {
    if (this.wired) return;
    this.wired = true;
    this.plunger = this.querySelector(".plunger");
    this.beats = this.querySelector(".beats");
    this.fingers = new Set();
    this.plunger.addEventListener("pointerdown", (e) => this.press(e));
    for (const name of ["pointerup", "pointercancel", "lostpointercapture"]) {
      this.plunger.addEventListener(name, (e) => this.lift(e.pointerId));
    }
    this.plunger.addEventListener("contextmenu", (e) => e.preventDefault());
    this.plunger.addEventListener("keydown", (e) => {
      if (e.key !== " " && e.key !== "Enter") return;
      e.preventDefault();
      if (!e.repeat) this.beat("key", e.timeStamp);
    });
    this.plunger.addEventListener("keyup", () => this.lift("key"));
    this.plunger.addEventListener("click", (e) => {
      if (e.detail === 0 && !this.keyed) { // a screen reader presses without finger or key
        this.beat("click", e.timeStamp);
        this.lift("click");
      }
      this.keyed = false;
    });
  }

  press(e) {
    e.preventDefault();
    if (e.width > PALM || e.height > PALM || e.button > 0) return;
    this.plunger.setPointerCapture(e.pointerId);
    this.plunger.focus({ preventScroll: true });
    this.beat(e.pointerId, e.timeStamp);
  }

  // beat is one press, whatever pressed: it is felt here at once, whatever the network does. stamp is when the hand
  // moved, by performance.now(): a busy tablet may hand the event on late.
  beat(finger, stamp) {
    if (document.body.classList.contains("looking")) return;
    this.fingers.add(finger);
    if (finger === "key") this.keyed = true;
    this.plunger.classList.add("down");
    clearTimeout(this.holding);
    if (this.dataset.holds) this.holding = setTimeout(() => this.hold(true), HELD);
    this.dispatchEvent(new CustomEvent("beat", { bubbles: true, detail: { circuit: this.dataset.circuit, stamp } }));
  }

  lift(finger) {
    this.fingers.delete(finger);
    if (this.fingers.size > 0) return;
    this.plunger.classList.remove("down");
    clearTimeout(this.holding);
    if (this.held) this.hold(false);
  }

  // hold keeps the key down on the last beat, which lets the other end draw a token, or lets it go.
  hold(down) {
    this.held = down;
    this.plunger.classList.toggle("held", down);
    this.dispatchEvent(new CustomEvent("act", { bubbles: true, detail: { do: "hold", circuit: this.dataset.circuit, off: !down } }));
  }

  // dot shows one beat; at is its time under the finger, so that the gaps are the hand's own.
  dot(at, mine, late) {
    if (this.lastDot === undefined || at - this.lastDot > 2500 || this.mine !== mine) this.clear();
    const dot = document.createElement("i");
    const gap = this.beats.children.length ? Math.max(0, Math.min(30, (at - this.lastDot - 280) / 16)) : 0;
    dot.style.marginLeft = 3 + gap + "px";
    if (late) dot.className = "late";
    this.beats.appendChild(dot);
    this.lastDot = at;
    this.mine = mine;
    this.beats.classList.toggle("mine", !!mine);
    if (late && !this.beats.querySelector("small")) this.markLate();
    clearTimeout(this.fading);
    this.fading = setTimeout(() => this.beats.classList.add("old"), FADE);
  }

  markLate() {
    const mark = document.createElement("small");
    mark.textContent = "came late";
    this.beats.appendChild(mark);
  }

  clear() {
    this.beats.textContent = "";
    this.beats.classList.remove("old");
  }

  // struck lights the bell's ring for as long as a stroke is loud.
  struck() {
    this.plunger.classList.remove("struck");
    void this.plunger.offsetWidth;
    this.plunger.classList.add("struck");
    clearTimeout(this.lit);
    this.lit = setTimeout(() => this.plunger.classList.remove("struck"), 260);
  }

  // read shows what was heard, what it means and what was last rung, all in words.
  read(heard, meaning, sent) {
    this.querySelector(".heard").textContent = heard;
    this.querySelector(".meaning").textContent = meaning;
    this.querySelector(".sent").textContent = sent;
  }

  // say shows one sentence for a while: why something could not be.
  say(words) {
    const p = this.querySelector(".says");
    p.textContent = words;
    p.classList.add("on");
    clearTimeout(this.saying);
    this.saying = setTimeout(() => {
      p.classList.remove("on");
      p.textContent = "";
    }, 8000);
  }
}
customElements.define("tl-bell", Bell);
