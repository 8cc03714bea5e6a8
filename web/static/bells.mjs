// The bells as they sound here. A stroke is heard a fixed delay after it was pressed; if it comes too late, it and the
// strokes after it move later together. Two strokes are never nearer in the ear than under the finger: 3-1 squeezed is 4.

const LEAD = 15; // milliseconds that the sound card wants
const QUIET = 1500; // after which a circuit's chain of strokes is forgotten
const [LEAST, MOST] = [40, 400]; // of the delay
const SPARE = 30; // above the 95th percentile of the last arrivals
const REMEMBER = 60; // arrivals

export class Bells {
  // clock: the sitting's; sounds: addresses, { home: { noise }, bells: { circuit }, night: { circuit } }
  constructor(clock, sounds) {
    this.clock = clock;
    this.sounds = sounds;
    this.buffers = {};
    this.chains = {};
    this.arrivals = [];
    this.delay = 100;
    this.context = null;
    this.changed = () => {}; // called when the bells fall silent or wake
    this.played = window.taillampPlayed = window.taillampPlayed || [];
  }

  // awake tells whether strokes can be heard now.
  awake() {
    return !!this.context && this.context.state === "running";
  }

  // unlock must be called from within a press: browsers let nothing sound before one.
  unlock() {
    const Context = window.AudioContext || window.webkitAudioContext;
    if (!Context) return Promise.resolve(false);
    if (!this.context) {
      if (navigator.audioSession) navigator.audioSession.type = "playback";
      this.context = new Context({ latencyHint: "interactive" });
      this.context.onstatechange = () => this.changed();
      this.use(this.sounds);
    }
    const resumed = this.context.resume ? this.context.resume() : null;
    return Promise.resolve(resumed).then(() => this.awake(), () => false);
  }

  // use takes the sounds of another shelf, as after a box was switched in or out.
  use(sounds) {
    this.sounds = sounds;
    if (!this.context) return;
    for (const name of Object.keys(sounds.home || {})) this.load(name, sounds.home[name]);
    for (const circuit of Object.keys(sounds.bells)) this.load(circuit, sounds.bells[circuit]);
  }

  load(name, address) {
    if (!address || !this.context || this.buffers[name]) return this.buffers[name];
    this.buffers[name] = fetch(address)
      .then((r) => r.arrayBuffer())
      .then((b) => new Promise((good, bad) => this.context.decodeAudioData(b, good, bad)))
      .then((buffer) => {
        this.buffers[name].ready = buffer;
        return buffer;
      });
    this.buffers[name].catch(() => delete this.buffers[name]);
    return this.buffers[name];
  }

  // try strikes one bell as soon as it is there, for "did you hear it?".
  try(circuit) {
    const sound = this.load(circuit, this.sounds.bells[circuit]);
    return sound ? sound.then(() => this.strike(circuit, 0)) : Promise.resolve();
  }

  strike(name, when) {
    const sound = this.buffers[name];
    if (!sound || !sound.ready || !this.awake()) return;
    const source = this.context.createBufferSource();
    source.buffer = sound.ready;
    source.connect(this.context.destination);
    source.start(when);
  }

  // clack is the plunger under one's own finger.
  clack() {
    this.strike("clack", 0);
  }

  // ring plays one stroke pressed at the far end and says when it will be heard, in milliseconds from now, and by how
  // much the network made it late.
  ring(circuit, pressed) {
    const now = this.clock.now();
    let chain = this.chains[circuit];
    if (!chain || now - chain.play > QUIET) {
      this.settle();
      chain = this.chains[circuit] = { play: -Infinity, pressed: 0, delay: this.delay, offset: this.clock.offset, anchor: this.anchor() };
    }
    this.arrived(now - pressed);
    const here = performance.now() + chain.offset; // the clock as it was when the code began: steering must not bend it
    const due = pressed + chain.delay;
    const play = Math.max(due, here + LEAD, chain.play === -Infinity ? -Infinity : chain.play + (pressed - chain.pressed));
    chain.play = play;
    chain.pressed = pressed;
    const when = chain.anchor === null ? null : chain.anchor + play / 1000;
    this.played.push({ circuit, pressed, play, when, late: here + LEAD > due });
    if (this.played.length > 20000) this.played.splice(0, 10000);
    if (when !== null) this.strike(circuit, Math.max(0, when));
    return { after: play - here, late: play - due };
  }

  // anchor is what turns the sitting's time into the sound card's: taken once for a code.
  anchor() {
    if (!this.awake()) return null;
    return this.context.currentTime - (performance.now() + this.clock.offset) / 1000;
  }

  arrived(after) {
    this.arrivals.push(after);
    if (this.arrivals.length > REMEMBER) this.arrivals.shift();
  }

  // settle chooses the delay anew; only in quiet.
  settle() {
    if (this.arrivals.length < 8) return;
    const sorted = this.arrivals.slice().sort((a, b) => a - b);
    const most = sorted[Math.floor(0.95 * (sorted.length - 1))];
    this.delay = Math.max(LEAST, Math.min(MOST, most + SPARE));
  }
}
