// What this tablet tells of its line: how long a word takes there and back, and how long there was no line at all.

const GOOD = 120; // milliseconds there and back
const POOR = 400;
const LONG = 30000; // of a poor line, after which the signaller is told what to do
const OFTEN = 5000; // a poor line is measured so often

export class Far {
  // wire: the page's; place: where the words stand; strip: where a warning does
  constructor(wire, place, strip) {
    Object.assign(this, { wire, place, strip, lost: 0, gone: 0, poor: 0 });
    wire.addEventListener("away", () => { this.gone = performance.now(); this.tell(); });
    wire.addEventListener("present", () => this.back());
    wire.addEventListener("trip", (e) => this.took(e.detail));
    this.tell();
  }

  back() {
    if (this.gone) this.lost += performance.now() - this.gone;
    this.gone = 0;
    this.tell();
  }

  took(trip) {
    this.trip = trip;
    if (trip <= POOR) this.poor = 0;
    else {
      this.poor = this.poor || performance.now();
      clearTimeout(this.again);
      this.again = setTimeout(() => this.wire.measure(), OFTEN);
    }
    this.tell();
  }

  tell() {
    const word = this.gone ? "line lost" : this.trip > POOR ? "line poor" : this.trip > GOOD ? "line slow" : "line good";
    if (this.place.textContent !== word) this.place.textContent = word;
    this.place.title = (this.trip ? Math.round(this.trip) + " ms there and back" : "not measured yet") + ", lost for " + Math.round(this.lost / 1000) + " s";
    this.strip.hidden = !(this.poor && performance.now() - this.poor >= LONG);
  }
}
