// The sitting's clock as this tablet reckons it. Times are milliseconds since 1970 by the clock of the sitting; the
// tablet's own clock may be wrong by hours and may be set while a bell rings, so only performance.now() is trusted.

const KEEP = 8; // exchanges of which the quickest is believed
const JUMP = 250; // an error this large is put right at once, smaller ones gently
const PER_SECOND = 5; // milliseconds by which a gentle correction moves in a second

export class Clock {
  constructor() {
    this.offset = Date.now() - performance.now();
    this.known = false;
    this.exchanges = [];
    this.moved = performance.now();
  }

  // now is the sitting's time.
  now() {
    return performance.now() + this.offset;
  }

  // greeted takes the time that a welcome carries: good to a network trip, until exchanges are better.
  greeted(now) {
    if (!this.known) this.offset = now - performance.now();
  }

  // forget begins anew, as after a sleep.
  forget() {
    this.exchanges = [];
    this.known = false;
  }

  // answered takes one exchange: t0 and t3 by performance.now(), t1 and t2 by the sitting's clock. It gives how long the
  // way there and back took.
  answered(t0, t1, t2, t3) {
    const trip = t3 - t0 - (t2 - t1);
    const offset = (t1 - t0 + (t2 - t3)) / 2;
    this.exchanges.push({ trip, offset });
    if (this.exchanges.length > KEEP) this.exchanges.shift();
    let best = this.exchanges[0];
    for (const e of this.exchanges) if (e.trip < best.trip) best = e;
    this.steer(best.offset);
    return trip;
  }

  steer(to) {
    const error = to - this.offset;
    const since = (performance.now() - this.moved) / 1000;
    this.moved = performance.now();
    const most = Math.max(1, PER_SECOND * since);
    this.offset += !this.known || Math.abs(error) > JUMP ? error : Math.max(-most, Math.min(most, error));
    this.known = true;
  }
}
