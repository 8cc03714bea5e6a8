// The bells as they sound here. A stroke is heard a fixed delay after it was pressed; if it comes too late, it and the
// strokes after it move later together. Two strokes are never nearer in the ear than under the finger: 3-1 squeezed is 4.

import { force, mix, strike } from "./strike.mjs";

const LEAD = 15; // milliseconds that the sound card wants
const QUIET = 1500; // after which a circuit's chain of strokes is forgotten
const BENT = 100; // milliseconds; a clock that was so far out is put right within a code too
const [LEAST, MOST] = [40, 400]; // of the delay
const SPARE = 30; // above the 95th percentile of the last arrivals
const REMEMBER = 60; // arrivals

const KEPT = "taillamp-bells"; // where this tablet keeps how it likes its bells
const FULL = 10; // the loudest step
const STEP = 3; // decibels
const NIGHT = 0.35; // of a noise at night; a bell has a voice of its own then

// ROLL is what follows six beats: the same bell, struck so fast, as by a trembler, that nobody counts it for a code.
const ROLL = { strokes: 16, apart: 0.07, after: 0.35, loud: [0.6, 2] };

export class Bells {
  // clock: the sitting's; sounds: addresses, { home: { noise }, bells: { circuit }, night: { circuit } }
  constructor(clock, sounds) {
    this.clock = clock;
    this.sounds = sounds;
    this.buffers = {};
    this.chains = {};
    this.arrivals = [];
    this.delay = 100;
    this.hand = null; // the code being rung here
    this.context = null;
    this.stuck = false;
    this.elsewhere = []; // circuits whose bells real instruments ring
    this.moment = -1; // of the sound card, when it was last watched
    this.likes = kept();
    this.changed = () => {}; // called when the bells fall silent or wake
    this.played = window.taillampPlayed = window.taillampPlayed || [];
  }

  // awake tells whether strokes can be heard now.
  awake() {
    return !!this.context && this.context.state === "running" && !this.stuck;
  }

  // able tells whether this browser can sound at all.
  able() {
    return !!(window.AudioContext || window.webkitAudioContext);
  }

  // watch finds out a sound card that stands still though it says that it runs, as after a change of output.
  watch() {
    const running = this.context && this.context.state === "running";
    const stuck = !!running && this.context.currentTime === this.moment;
    this.moment = running ? this.context.currentTime : -1;
    if (stuck === this.stuck) return;
    this.stuck = stuck;
    this.changed();
  }

  // unlock must be called from within a press: browsers let nothing sound before one.
  unlock() {
    const Context = window.AudioContext || window.webkitAudioContext;
    if (!Context) return Promise.resolve(false);
    if (!this.context || this.stuck) {
      if (this.context) this.context.close();
      this.stuck = false;
      this.buffers = {};
      this.chains = {};
      if (navigator.audioSession) navigator.audioSession.type = "playback";
      this.context = new Context({ latencyHint: "interactive" });
      this.context.onstatechange = () => this.changed();
      this.mix = mix(this.context);
      this.like(this.likes);
    }
    const resumed = this.context.resume ? this.context.resume() : null;
    return Promise.resolve(resumed).then(() => this.awake(), () => false);
  }

  // like sets how this tablet rings, { loud: 1 to 10, night }, and keeps it for the next time.
  like(likes) {
    this.likes = likes;
    keep(likes);
    if (this.mix) this.mix.volume.value = Math.pow(10, (likes.loud - FULL) * STEP / 20);
    this.use(this.sounds);
  }

  // use takes the sounds of another shelf, as after a box was switched in or out.
  use(sounds) {
    this.sounds = sounds;
    if (!this.context) return;
    for (const name of Object.keys(sounds.home || {})) this.load(name, sounds.home[name]);
    for (const circuit of Object.keys(sounds.bells)) this.load(circuit, this.address(circuit));
  }

  // address is where the sound of a bell is, as this tablet likes it.
  address(circuit) {
    return ((this.likes.night && this.sounds.night) || this.sounds.bells)[circuit];
  }

  // load fetches a sound; until it is there, the one that it follows goes on being heard.
  load(name, address) {
    const before = this.buffers[name];
    if (!address || !this.context || (before && before.address === address)) return before;
    const sound = fetch(address)
      .then((r) => r.arrayBuffer())
      .then((b) => new Promise((good, bad) => this.context.decodeAudioData(b, good, bad)))
      .then((buffer) => { sound.ready = buffer; });
    sound.address = address;
    sound.ready = before && before.ready;
    this.buffers[name] = sound;
    sound.catch(() => { if (this.buffers[name] === sound) delete this.buffers[name]; });
    return sound;
  }

  // try strikes one bell as soon as it is there, for "did you hear it?".
  try(circuit) {
    const sound = this.load(circuit, this.address(circuit));
    return sound ? sound.then(() => this.strike(circuit, 0, 1, 1)) : Promise.resolve();
  }

  strike(name, when, hard, loud) {
    const sound = this.buffers[name];
    if (sound && sound.ready && this.awake()) strike(this.context, this.mix.into, sound.ready, when, hard, loud);
  }

  // home is a noise of the apparatus here: softer than any bell.
  home(noise, loud) {
    this.strike(noise, 0, 1, (loud || 1) * (this.likes.night ? NIGHT : 1));
  }

  // press is the plunger under one's own finger, heard at once; stamp is when the hand moved, by performance.now(). It
  // gives that moment on the sitting's clock, which is not steered while a code is being rung.
  press(stamp) {
    this.home("clack");
    const here = performance.now();
    const moved = here > stamp && here - stamp < 1000 ? stamp : here;
    const hand = this.hand;
    if (!hand || moved - hand.moved > QUIET || Math.abs(hand.offset - this.clock.offset) > BENT) this.hand = { offset: this.clock.offset };
    this.hand.moved = moved;
    return moved + this.hand.offset;
  }

  // roll tells that six beats were rung, when they have been heard: it is not to be missed, at night neither.
  roll(circuit) {
    if (!this.awake()) return 0;
    const chain = this.chains[circuit];
    const last = chain && chain.anchor !== null ? chain.anchor + chain.play / 1000 : 0;
    const begins = Math.max(this.context.currentTime, last) + ROLL.after;
    const [soft, full] = ROLL.loud.map((l) => (this.likes.night ? 4 * l : l));
    for (let i = 0; i < ROLL.strokes; i++) {
      this.strike(circuit, begins + i * ROLL.apart, force(i), soft + (full - soft) * i / (ROLL.strokes - 1));
    }
    return begins;
  }

  // ring plays one stroke pressed at the far end and says when it will be heard, in milliseconds from now, and by how
  // much the network made it late. number is the beat's in the record, from which its force comes.
  ring(circuit, pressed, number) {
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
    const hard = force(number);
    this.played.push({ circuit, pressed, play, when, hard, late: here + LEAD > due });
    if (this.played.length > 20000) this.played.splice(0, 10000);
    if (when !== null && !this.elsewhere.includes(circuit)) this.strike(circuit, Math.max(0, when), hard, 1);
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

function kept() {
  let likes = null;
  try {
    likes = JSON.parse(localStorage.getItem(KEPT));
  } catch (e) {} // a browser may keep nothing, or something else
  const loud = likes && Math.round(likes.loud);
  return { loud: loud >= 1 && loud <= FULL ? loud : FULL, night: !!likes && !!likes.night };
}

function keep(likes) {
  try {
    localStorage.setItem(KEPT, JSON.stringify(likes));
  } catch (e) {} // then it holds for this evening only
}
