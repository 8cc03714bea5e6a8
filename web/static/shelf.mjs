// A box page: everything on it is wired here. It is started by the page itself, or by the door, which hands over the
// bells that the press of "Take duty" has unlocked.

import { Wire } from "./wire.mjs";
import { Bells } from "./bells.mjs";
import { nameOf, Readings } from "./readings.mjs";
import { Ears } from "./ears.mjs";
import { changesOf } from "./apparatus.mjs";
import { ruled } from "./ruled.mjs";
import "./elements/bell.mjs";
import "./elements/needle.mjs";
import "./elements/lamp.mjs";
import "./elements/token.mjs";
import "./elements/book.mjs";
import "./elements/notice.mjs";
import "./elements/clock.mjs";

const $ = (selector) => document.querySelector(selector);
const all = (selector) => Array.from(document.querySelectorAll(selector));
const speak = (words) => { $(".spoken").textContent = words; };

// advised tells whether this tablet had advice turned on when it was here last.
const advised = () => {
  try {
    return /"on":true/.test(localStorage.getItem("taillamp-advice"));
  } catch (e) {
    return false;
  }
};

export class Shelf {
  constructor(bells) {
    this.page = JSON.parse($("#present").textContent);
    const seat = this.seat = { sitting: this.page.sitting, box: this.page.box, as: this.page.as };
    this.wire = new Wire(seat);
    this.bells = bells || new Bells(this.wire.clock, this.page.sounds);
    this.bells.clock = this.wire.clock;
    this.bells.use(this.page.sounds);
    this.ears = new Ears(this);
    this.bells.changed = () => this.ears.look();
    this.readings = new Readings(this.page);
    this.lastRung = "";
    this.listen();
    this.hands();
    import("./far.mjs").then(({ Far }) => { this.far = new Far(this.wire, $(".reach"), $(".strip.poor")); });
    if (this.page.working && advised()) this.advice();
    if ($(".frame")) import("./elements/lever.mjs");
    if (this.page.working && $(".lesson")) import("./lesson.mjs").then(({ Lesson }) => new Lesson(this, $(".lesson")));
  }

  bell(circuit) {
    return all("tl-bell").find((b) => b.dataset.circuit === circuit);
  }

  // beside is the bell that stands with a section's instrument.
  beside(section) {
    const at = all("[data-section]").find((e) => e.dataset.section === section);
    return at ? at.closest(".neighbour").querySelector("tl-bell") : null;
  }

  // listen takes what the sitting tells.
  listen() {
    const on = (name, f) => this.wire.addEventListener(name, (e) => f(e.detail));
    on("present", (f) => this.present(f));
    on("ring", (f) => this.ring(f));
    on("news", (f) => this.news(f));
    on("answer", (f) => this.answer(f.act, f.answer));
    on("away", () => { $(".strip.away").hidden = false; });
    on("closed", (f) => this.closed(f));
  }

  present(f) {
    $(".strip.away").hidden = true;
    if (f.clock) $("tl-clock").set(f.clock, f.now, this.wire.clock);
    if (f.settings) this.readings.settings(f.settings);
    if (f.book) $("tl-book").whole(f.book);
    if (f.notice) $("tl-notice").display(f.notice, this.page.names);
    if (f.view) this.view(f.view);
    this.away = f.away || [];
    this.absent();
    this.fitted(f.fitted);
    this.phone(f.phones || []);
    this.private(f);
    if (f.missed && f.missed !== "unknown") speak(f.missed);
    if (f.trouble) this.standStill(f.trouble);
    this.ears.look();
  }

  ring(f) {
    const bell = this.bell(f.circuit || f.sent);
    if (f.sent && bell) bell.dot(f.pressed, true);
    if (!f.circuit) return;
    const heard = this.bells.ring(f.circuit, f.pressed, f.seq);
    setTimeout(() => {
      if (bell) {
        bell.struck();
        bell.dot(f.pressed, false, heard.late > 30);
      }
      this.tabRings(f.circuit);
      if (navigator.vibrate && this.bells.awake()) navigator.vibrate(20);
    }, Math.max(0, heard.after));
  }

  news(f) {
    if (f.away) {
      this.away = this.away.filter((box) => box !== f.away.box).concat(f.away.off ? [f.away.box] : []);
      this.absent();
    }
    if (f.fitted) this.fitted(f.fitted);
    this.private(f);
    if (f.phones) this.phone(f.phones);
    for (const change of f.changes || []) if (change.signal) this.readings.signal(change.signal);
    if (f.clock) $("tl-clock").set(f.clock, f.at, this.wire.clock);
    if (f.view) this.view(f.view);
    else this.read();
    if (f.lines && f.lines.length) $("tl-book").some(f.lines);
    if (f.notice) $("tl-notice").display(f.notice, this.page.names);
  }

  // view shows a box as the record has it.
  view(v) {
    v.shelf = v.shelf || [];
    const circuits = v.shelf.map((i) => i.circuit).join("|");
    if (circuits !== all(".neighbour").map((n) => n.dataset.circuit).join("|")) {
      this.refit(v);
      return;
    }
    if (this.shown) this.sound(changesOf(this.shown, v));
    this.shown = v;
    const closing = $(".closing-switch");
    if (closing && !closing.dataset.sure) closing.textContent = v.open ? "Switch out" : "Switch in";
    for (const i of v.shelf) {
      for (const line of i.lines || []) {
        const needle = all("tl-needle").find((n) => n.dataset.section === line.section);
        if (needle) needle.display(line);
        const token = all("tl-token").find((n) => n.dataset.section === line.section);
        if (token) token.display(line, this.page.names[i.to] || i.name);
        const lamp = (line.toMe || line.token || line.staff) && all("tl-lamp").find((n) => n.dataset.section === line.section);
        if (lamp) lamp.display(line);
        const lever = all("tl-lever").find((n) => n.dataset.section === line.section);
        if (lever && lever.display) lever.display(line);
        for (const collar of all(".reminder")) { // one on the instrument, one on the lever
          if (collar.dataset.section === line.section) collar.setAttribute("aria-pressed", String(!!line.collar));
        }
      }
    }
    $(".strip.paused").hidden = !v.paused;
    $("tl-clock").pause(v.paused);
    this.danger(v);
    this.read();
  }

  // absent hangs a card over the instruments of neighbours whose tablets are off the wire: their silence is no refusal.
  absent() {
    for (const n of all(".neighbour")) n.querySelector(".absent").hidden = !(this.away || []).includes(n.dataset.to);
  }

  // fitted leaves to the real instruments on the layout the bells that they ring, as long as they are on the wire.
  fitted(all) {
    this.bells.elsewhere = [].concat(...(all || []).filter((i) => i.on).map((i) => i.bells || []));
    if (all) import("./fitted.mjs").then(({ tellFitted }) => tellFitted($(".strip.fitted"), all));
  }

  // phone shows how the telephones stand; their part of the page is fetched when one is first used.
  phone(phones) {
    const box = $(".telephone");
    if (!box) return;
    if (!this.telephone && !phones.length) {
      box.addEventListener("toggle", () => this.phone([{}]), { once: true });
      return;
    }
    this.telephone = this.telephone || import("./telephone.mjs").then(({ Telephone }) => new Telephone(this));
    this.telephone.then((t) => t.show(phones));
  }

  // private is for this tablet alone, and for the instructor who watches it: who asks for the box, what the owner tells its
  // signaller, and that he is watched.
  private(f) {
    if (f.shows || f.watched && (f.watched.as || this.mirror)) import("./mirror.mjs").then(({ mirror }) => mirror(this, f));
    if (f.asks || f.told && (f.told.all || this.told)) import("./relief.mjs").then(({ asked, told }) => {
      if (f.asks) asked(this, $(".strip.asked"), f.asks);
      if (f.told) told(this, $(".strip.told"), f.told.all || []);
    });
  }

  // refit sets up the shelf anew where a neighbour was switched in or out.
  refit(v) {
    this.refitting = this.refitting || import("./refit.mjs").then(({ refit }) => refit(this, v)).catch(() => { this.refitting = null; });
  }

  danger(v) {
    const where = v.shelf.filter((i) => i.danger).map((i) => i.name);
    for (const n of all(".neighbour")) n.classList.toggle("danger", v.shelf.some((i) => i.danger && i.circuit === n.dataset.circuit));
    document.body.classList.toggle("alarm", where.length > 0);
    $(".strip.emergency").hidden = where.length === 0;
    const words = where.length ? "Obstruction danger: stop all trains toward and from " + where.join(" and ") + "." : "";
    if ($(".strip.emergency").textContent !== words) $(".strip.emergency").textContent = words;
  }

  // read writes under each bell what was heard and rung, and says each new signal once.
  read() {
    if (!this.shown) return;
    const clock = $("tl-clock");
    for (const i of this.shown.shelf) {
      const bell = this.bell(i.circuit);
      if (!bell) continue;
      const r = this.readings.of(i, (ms) => clock.wordsAt(ms));
      bell.read(r.heard, r.meaning, r.sent);
      if (r.fresh) speak(nameOf(i) + " rang " + r.beats + (r.meaning ? ", " + r.meaning : ""));
    }
  }

  answer(act, answer) {
    const bell = this.bell(act.circuit) || this.beside(act.section);
    const needle = act.do === "turn" && all("tl-needle").find((n) => n.dataset.section === act.section);
    if (answer.ending === "done") {
      if (needle) needle.answered();
      const lamp = act.lamp && all("tl-lamp").find((l) => l.dataset.section === act.section);
      if (lamp) {
        lamp.marked();
        this.bells.home("click", 0.5);
      }
      if (act.do === "duty" && act.off) this.gone();
      return;
    }
    if (needle) needle.refused();
    const lever = act.do === "lever" && all("tl-lever").find((n) => n.dataset.section === act.section);
    if (lever) lever.refused();
    const words = answer.words || "That could not be done.";
    if (bell) bell.say(words);
    else speak(words);
  }

  gone() {
    this.wire.over = true;
    if (window.parent === window) location.assign("/");
    else location.reload(); // one of two boxes at this tablet
  }

  closed(f) {
    if (f.again !== false) return;
    this.standStill(f.why || "This box is worked at another tablet now.");
  }

  // standStill says why nothing can be worked here any more.
  standStill(why) {
    document.body.classList.add("looking");
    const strip = $(".strip.away");
    strip.textContent = why;
    strip.hidden = false;
  }

  // wake is for a tablet that may have slept: its bells are to sound again and its screen is to stay lit, as far as the
  // browser lets them.
  wake() {
    if (document.hidden) return;
    if (this.bells.context) this.bells.unlock().then(() => this.ears.look());
    if (navigator.wakeLock) navigator.wakeLock.request("screen").catch(() => {}); // it may refuse on a low battery
  }

  // sound lets be heard what the apparatus did; six beats are told once more, so that nobody misses them.
  sound(changes) {
    for (const noise of changes.noises) this.bells.home(noise);
    for (const circuit of changes.sixes) this.bells.roll(circuit);
  }

  tabRings(circuit) {
    const from = this.shown && this.shown.shelf.find((i) => i.circuit === circuit);
    if (from) this.plate(from.name + " rings");
    const tab = all(".tabs button").find((t) => t.dataset.circuit === circuit);
    if (!tab || tab.getAttribute("aria-pressed") === "true") return;
    tab.classList.add("rings");
  }

  // plate has the plate of this box call, where it is one of two at this tablet and the other may be in front.
  plate(says) {
    if (window.parent !== window) window.parent.postMessage({ box: this.page.box, says }, location.origin);
  }

  turnTo(circuit) {
    for (const n of all(".neighbour")) n.classList.toggle("here", n.dataset.circuit === circuit);
    for (const t of all(".tabs button")) {
      t.setAttribute("aria-pressed", String(t.dataset.circuit === circuit));
      if (t.dataset.circuit === circuit) t.classList.remove("rings");
    }
  }

  // hands takes what the signaller does.
  hands() {
    document.body.addEventListener("beat", (e) => this.beat(e.detail.circuit, e.detail.stamp));
    document.body.addEventListener("act", (e) => this.act(e.detail));
    ruled($("tl-book"), (line) => this.act({ do: "slip", line }));
    document.body.addEventListener("click", (e) => this.click(e));
    document.body.addEventListener("keydown", (e) => this.key(e));
    document.body.addEventListener("keyup", (e) => this.keyUp(e));
    for (const name of ["pageshow", "focus"]) addEventListener(name, () => this.wake());
    document.addEventListener("visibilitychange", () => this.wake());
    this.wake();
  }

  beat(circuit, stamp) {
    const pressed = this.bells.press(stamp);
    this.lastRung = circuit;
    const bell = this.bell(circuit);
    const act = { do: "beat", circuit, pressed };
    const notice = $("tl-notice");
    if (notice.touched) act.train = notice.touched;
    this.wire.act(act);
    bell.dot(pressed, true, false);
    if (!this.bells.awake()) this.bells.unlock().then(() => this.ears.look());
  }

  act(act) {
    if (document.body.classList.contains("looking")) return;
    this.wire.act(Object.assign({ pressed: this.wire.clock.now() }, act));
  }

  click(e) {
    const button = e.target.closest("button");
    if (!button) return;
    if (button.classList.contains("reminder")) {
      const bell = button.closest("tl-bell") || this.beside(button.dataset.section);
      this.act({ do: "collar", circuit: bell.dataset.circuit, section: button.dataset.section, off: button.getAttribute("aria-pressed") === "true" });
    } else if (button.closest(".tabs")) this.turnTo(button.dataset.circuit);
    else if (button.closest(".hush")) this.unhush();
    else if (button.matches("nav .advice")) this.advice().then((a) => a.turn());
    else if (button.classList.contains("bells")) this.bellStrip(button);
    else if (button.matches(".off-duty, .closing-switch")) import("./sure.mjs").then(({ leaves }) => leaves(this, button));
    else if (button.matches(".wants-box, .take-over button")) import("./relief.mjs").then(({ reliever }) => reliever(this, button));
    else if (button.classList.contains("take")) {
      this.bells.unlock();
      import("./duty.mjs").then(({ takeHere }) => takeHere(this, button.dataset.box));
    }
  }

  // advice is what tells the next act on this tablet alone; it is fetched when first wanted.
  advice() {
    this.adviser = this.adviser || import("./advice.mjs").then(({ Advice }) => new Advice(this, $(".strip.advice"), $("nav .advice")));
    return this.adviser;
  }

  bellStrip(button) {
    this.bells.unlock();
    import("./bellstrip.mjs").then(({ turnStrip }) => turnStrip(this, button));
  }

  // unhush lets the bells be heard; where they have not been tried yet, this is the time.
  unhush() {
    this.bells.unlock().then(() => {
      this.ears.look();
      if (this.page.working && this.shown && this.shown.ears !== "heard" && !this.ears.lapsed) this.trial();
    });
  }

  // key rings a bell by the letter that stands on its page, or the last one rung by the space bar.
  key(e) {
    if (e.repeat || e.ctrlKey || e.altKey || e.metaKey || e.target.closest("input, textarea")) return;
    const space = e.key === " " && (e.target === document.body || e.target === document.documentElement);
    const bell = space ? this.bell(this.lastRung) : all("tl-bell").find((b) => b.plunger.getAttribute("aria-keyshortcuts") === e.key.toLowerCase());
    if (space) e.preventDefault();
    if (bell) bell.beat("key " + e.key, e.timeStamp);
  }

  keyUp(e) {
    for (const b of all("tl-bell")) b.lift("key " + e.key);
  }

  // trial asks for each bell whether it was heard, and records the answer.
  trial() {
    return import("./trial.mjs").then(({ tryBells }) => tryBells(this, $(".try")));
  }
}

// start is for the page that was opened by its address; the door starts its own.
if (document.body.classList.contains("box") && !window.taillampShelf) window.taillampShelf = new Shelf(null);
