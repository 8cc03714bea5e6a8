// The wire to the sitting: one socket, opened again whenever it dies. Acts are kept until they are answered, so that
// none is lost and, being numbered, none is done twice. What comes back after an absence is the present, never the past.

import { Clock } from "./clock.mjs";

const PROTOCOL = 1;
const FIRST_WAIT = 250; // milliseconds before the first new attempt, doubling up to LAST_WAIT
const LAST_WAIT = 3000;
const DEAD = 4500; // silence after which a socket is given up
const PROBE = 1500; // and after something that looks like a sleep

export class Wire extends EventTarget {
  // seat: { sitting, box, as, ticket }
  constructor(seat) {
    super();
    this.seat = seat;
    this.clock = new Clock();
    this.have = null; // { epoch, seq } of the last frame taken
    this.last = 0; // highest act number used
    this.kept = []; // acts not yet answered, oldest first
    this.ready = false;
    this.over = false;
    this.wait = FIRST_WAIT;
    this.heard = performance.now();
    this.tick = performance.now();
    this.watch();
    this.open();
  }

  // act sends one act; the answer comes as an "answer" event with the act it belongs to.
  act(act) {
    const kept = Object.assign({ kind: "act", act: 0 }, act);
    this.kept.push(kept);
    if (this.ready) {
      kept.act = ++this.last;
      this.send(kept);
    }
    return kept;
  }

  open() {
    if (this.over || this.socket) return;
    const scheme = location.protocol === "https:" ? "wss:" : "ws:";
    const socket = new WebSocket(scheme + "//" + location.host + "/s/" + encodeURIComponent(this.seat.sitting) + "/wire");
    this.socket = socket;
    this.heard = performance.now();
    socket.onopen = () => {
      const hello = Object.assign({ kind: "hello", proto: PROTOCOL }, this.seat);
      if (this.have) hello.have = this.have;
      this.send(hello);
    };
    socket.onmessage = (m) => {
      if (socket === this.socket) this.take(JSON.parse(m.data));
    };
    socket.onclose = () => {
      if (socket === this.socket) this.lost();
    };
  }

  // drop gives a socket up without waiting for the network to agree.
  drop() {
    const socket = this.socket;
    if (!socket) return;
    socket.onclose = socket.onmessage = null;
    socket.close();
    this.lost();
  }

  // leave ends the wire for good.
  leave() {
    this.over = true;
    this.drop();
  }

  lost() {
    this.socket = null;
    if (this.ready) this.tell("away");
    this.ready = false;
    if (this.over) return;
    clearTimeout(this.again);
    this.again = setTimeout(() => this.open(), this.wait * (0.75 + Math.random() / 2));
    this.wait = Math.min(LAST_WAIT, this.wait * 2);
  }

  send(frame) {
    if (this.socket && this.socket.readyState === WebSocket.OPEN) this.socket.send(JSON.stringify(frame));
  }

  take(frame) {
    this.heard = performance.now();
    switch (frame.kind) {
      case "welcome":
        this.welcomed(frame);
        return;
      case "present":
        this.have = { epoch: frame.epoch, seq: frame.seq };
        this.tell("present", frame);
        return;
      case "ring":
      case "news":
        this.next(frame);
        return;
      case "answer":
        this.answered(frame);
        return;
      case "clock":
        this.tell("trip", this.clock.answered(frame.t0, frame.t1, frame.t2, performance.now()));
        return;
      case "close":
        this.over = frame.again === false;
        this.tell("closed", frame);
    }
  }

  welcomed(frame) {
    this.wait = FIRST_WAIT;
    this.have = { epoch: frame.epoch, seq: frame.seq };
    this.clock.greeted(frame.now);
    this.last = Math.max(this.last, frame.acted || 0);
    this.ready = true;
    this.tell("present", frame);
    for (const act of this.kept) {
      if (!act.act) act.act = ++this.last;
      this.send(act);
    }
    for (let i = 0; i < 8; i++) setTimeout(() => this.measure(), 100 * i);
  }

  // next takes a ring or news. A gap is a frame whose number leaves one out: then it asks for the present. A beat that
  // ended a code comes twice under its number, its ring at once and what came of it later, so an old number is no fault.
  next(frame) {
    if (!this.have) return;
    if (frame.early) {
      // It rings before its turn, because the server's disk is slow; its number comes once more in its turn.
      if (frame.epoch === this.have.epoch) this.tell(frame.kind, frame);
      return;
    }
    if (frame.epoch !== this.have.epoch || frame.seq > this.have.seq + 1) this.send({ kind: "sync", have: this.have });
    if (frame.epoch !== this.have.epoch) return;
    this.have.seq = Math.max(this.have.seq, frame.seq);
    this.tell(frame.kind, frame);
  }

  answered(frame) {
    const at = this.kept.findIndex((a) => a.act === frame.act);
    if (at < 0) return;
    const act = this.kept.splice(at, 1)[0];
    this.tell("answer", { act, answer: frame });
  }

  measure() {
    this.send({ kind: "clock", t0: performance.now() });
  }

  tell(name, detail) {
    this.dispatchEvent(new CustomEvent(name, { detail }));
  }

  // probe asks for any sign of life at once; used when the tablet may have slept.
  probe() {
    if (!this.socket) {
      clearTimeout(this.again);
      this.wait = FIRST_WAIT;
      this.open();
      return;
    }
    const asked = performance.now();
    this.send({ kind: "alive", seq: this.have ? this.have.seq : 0 });
    setTimeout(() => {
      if (this.heard < asked) this.drop();
    }, PROBE);
  }

  watch() {
    setInterval(() => {
      const now = performance.now();
      if (now - this.tick > 3000) {
        this.clock.forget();
        this.probe();
      }
      this.tick = now;
      if (this.socket && now - this.heard > DEAD) this.drop();
    }, 250);
    setInterval(() => this.send({ kind: "alive", seq: this.have ? this.have.seq : 0 }), 2000);
    setInterval(() => this.measure(), 15000);
    for (const name of ["online", "focus", "pageshow"]) addEventListener(name, () => this.probe());
    document.addEventListener("visibilitychange", () => {
      if (!document.hidden) this.probe();
    });
  }
}
