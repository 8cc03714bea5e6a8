// <tl-clock>: the district's time, to the half minute, as the registers have it.

export class DistrictClock extends HTMLElement {
  // set takes the time as the sitting tells it. kept is the sitting's clock (clock.mjs), at the moment of the frame.
  set(time, at, kept) {
    this.time = time;
    this.at = at;
    this.kept = kept;
    this.stopped = 0; // the pause under way is told again
    this.show();
    if (!this.timer) this.timer = setInterval(() => this.show(), 1000);
  }

  // pause has a scaled clock stand while the evening is paused; the wall's own goes on.
  pause(on) {
    if (!this.time || this.time.kind !== "scaled" || !on === !this.stopped) return;
    if (on) this.stopped = this.kept.now();
    else {
      this.at += this.kept.now() - this.stopped;
      this.stopped = 0;
    }
    this.show();
  }

  // secondsAt is the district's time of day, in seconds, at a moment of the sitting's clock.
  secondsAt(ms) {
    if (!this.time) return 0;
    return this.time.at + ((ms - this.at) / 1000) * this.time.speed;
  }

  // wordsAt is a moment as a signaller writes it.
  wordsAt(ms) {
    return written(this.secondsAt(ms));
  }

  show() {
    const words = this.wordsAt(this.stopped || this.kept.now());
    if (this.textContent !== words) this.textContent = words;
  }
}

function written(seconds) {
  const halves = Math.floor((((seconds % 86400) + 86400) % 86400) / 30);
  const minutes = Math.floor(halves / 2);
  const m = String(minutes % 60);
  return Math.floor(minutes / 60) + "." + (m.length < 2 ? "0" + m : m) + (halves % 2 ? "½" : "");
}
customElements.define("tl-clock", DistrictClock);
