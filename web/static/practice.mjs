// Bell practice: hear a code and name it, read a meaning and tap it. What the hand knows is kept in this browser.

import { Bells } from "./bells.mjs";
import { force } from "./strike.mjs";
import { after, turn, KNOWN, NEW } from "./schedule.mjs";
import "./elements/bell.mjs";

const MOST = 12; // codes of a turn
const FRESH = 5; // of them new
const LONGEST = 300000; // milliseconds of a turn
const QUIET = 1500; // that end a code under the finger
const QUICK = 6000; // an answer sooner than this is a ready one
const CHOICES = 4;
const SLOWEST = 40; // seconds from offer to offer of the neighbour who will not wait, at first
const BUSY = 20; // and at a busy junction
const SILENCE = 60000; // milliseconds after which he rings again
const KEPT = "taillamp-practice";

const $ = (selector) => document.querySelector(selector);
const page = JSON.parse($("#present").textContent);
const bells = new Bells({ offset: 0, now: () => performance.now() }, page.sounds);
const cardOf = {};
for (const c of page.cards) cardOf[c.key] = c;

const work = { way: "", left: [], card: null, missed: false, began: 0, asked: 0, presses: [], right: 0, seen: 0, again: [] };
const today = () => Math.floor(Date.now() / 86400000);

document.addEventListener("click", (e) => {
  const button = e.target.closest("button");
  if (!button) return;
  if (button.dataset.way) begin(button.dataset.way);
  else if (button.classList.contains("again")) ring(work.card);
  else if (button.classList.contains("off")) end();
  else if (button.classList.contains("on")) next();
  else if (button.dataset.key) named(button);
});
document.body.addEventListener("beat", (e) => pressed(e.detail.stamp));

function begin(way) {
  bells.unlock();
  const kept = read();
  const keys = page.cards.map((c) => c.key);
  work.way = way;
  if (way === "busy") {
    busy();
    return;
  }
  work.left = turn(keys, kept[way], today(), MOST, FRESH);
  if (!work.left.length) work.left = keys.slice().sort(() => Math.random() - 0.5).slice(0, FRESH); // all known: a few for pleasure
  Object.assign(work, { began: Date.now(), right: 0, seen: 0, again: [] });
  $(".begin").hidden = true;
  $(".turn").hidden = false;
  $(".bench").hidden = way !== "hand";
  next();
}

// busy begins a turn with a neighbour who will not wait: he offers train after train, the sooner the better he is answered.
function busy() {
  const trains = shuffled(page.cards.filter((c) => c.means.startsWith("is line clear")).map((c) => c.key));
  Object.assign(work, { left: trains, began: Date.now(), right: 0, seen: 0, again: [], pace: SLOWEST });
  $(".begin").hidden = true;
  $(".turn").hidden = false;
  $(".bench").hidden = false;
  for (const at of [".on", ".dots", ".again"]) $(at).hidden = true;
  $(".answers").textContent = "";
  $(".told").textContent = "";
  offer();
}

function offer() {
  if (!work.left.length || Date.now() - work.began > LONGEST) {
    end();
    return;
  }
  Object.assign(work, { card: cardOf[work.left.shift()], missed: false, asked: performance.now(), presses: [] });
  $(".asked").textContent = "He offers a train every " + Math.round(work.pace) + " seconds. Repeat what he rings.";
  rings();
}

// rings has him ring the code, and again if he is met with silence.
function rings() {
  ring(work.card);
  clearTimeout(work.silent);
  work.silent = setTimeout(() => {
    work.missed = true;
    $(".told").textContent = "He rings again.";
    rings();
  }, SILENCE);
}

// repeated is a code tapped back to him.
function repeated(got) {
  const { card } = work;
  if (!got.right) {
    work.missed = true;
    work.pace = Math.min(SLOWEST, work.pace * 1.1);
    $(".told").textContent = "Read as " + got.code + ", and he rang something else. Listen: he rings again.";
    clearTimeout(work.silent);
    work.silent = setTimeout(rings, QUIET);
    return;
  }
  clearTimeout(work.silent);
  work.seen++;
  if (work.missed) work.again.push(card.key);
  else {
    work.right++;
    work.pace = Math.max(BUSY, work.pace * 0.85);
  }
  $(".told").textContent = card.code + ", " + card.means + " Accepted.";
  work.silent = setTimeout(offer, Math.max(1000, work.pace * 1000 - (performance.now() - work.asked)));
}

function next() {
  if (!work.left.length || Date.now() - work.began > LONGEST) {
    end();
    return;
  }
  const card = cardOf[work.left.shift()];
  Object.assign(work, { card, missed: false, asked: performance.now(), presses: [] });
  $(".on").hidden = true;
  $(".dots").hidden = true;
  $(".again").hidden = work.way !== "ear";
  $(".told").textContent = "";
  $(".answers").textContent = "";
  if (work.way === "hand") {
    $(".asked").textContent = "Ring: " + card.means;
    return;
  }
  $(".asked").textContent = "What does the bell say?";
  for (const c of shuffled([card].concat(others(card)))) {
    const b = document.createElement("button");
    b.type = "button";
    b.dataset.key = c.key;
    b.textContent = c.means;
    $(".answers").appendChild(b);
  }
  ring(card);
}

// ring sounds a code in the voice of one of the box's bells that may bring it.
function ring(card) {
  const circuit = card.circuits[Math.floor(Math.random() * card.circuits.length)];
  const sound = bells.load(circuit, bells.address(circuit));
  window.taillampRang = card.code;
  if (!sound) return;
  sound.then(() => {
    const start = bells.context.currentTime + 0.1;
    card.times.forEach((ms, n) => bells.strike(circuit, start + ms / 1000, force(n), 1));
  }, () => {});
}

function named(button) {
  const right = button.dataset.key === work.card.key;
  if (right) {
    answered(work.missed ? 2 : performance.now() - work.asked < QUICK ? 5 : 4, work.card.code + ": " + work.card.means + (work.card.means.endsWith("?") ? "" : "."));
    return;
  }
  work.missed = true;
  button.disabled = true;
  $(".told").textContent = "That is " + cardOf[button.dataset.key].code + ". Listen again.";
  ring(work.card);
}

function pressed(stamp) {
  bells.home("clack");
  if (work.way === "ear" || !work.card || !$(".on").hidden) return;
  work.presses.push(stamp);
  $("tl-bell").dot(stamp, true, false);
  clearTimeout(work.quiet);
  work.quiet = setTimeout(readHand, QUIET);
}

function readHand() {
  const presses = work.presses;
  work.presses = [];
  fetch("/s/" + encodeURIComponent(page.sitting) + "/practice/" + encodeURIComponent(page.box), {
    method: "POST", headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ presses: presses.map((p) => p - presses[0] + 1000), want: work.card.code }),
  }).then((r) => (r.ok ? r.json() : null)).then((got) => {
    if (!got) return;
    if (work.way === "busy") {
      repeated(got);
      return;
    }
    draw($(".mine"), presses.map((p) => p - presses[0]));
    draw($(".good"), work.card.times);
    $(".dots").hidden = false;
    if (got.right) {
      answered(work.missed ? 2 : performance.now() - work.asked < QUICK + 4000 ? 5 : 4, "Read as " + got.code + ". " + got.words);
      return;
    }
    work.missed = true;
    $(".told").textContent = "Read as " + got.code + "; it is " + work.card.code + ". " + got.words + " Try once more.";
  }, () => { $(".told").textContent = "The program does not answer."; });
}

// draw sets out beats to scale, the whole code as wide as the drawing.
function draw(svg, times) {
  svg.textContent = "";
  const last = Math.max(times[times.length - 1], 1);
  for (const t of times) {
    const dot = document.createElementNS("http://www.w3.org/2000/svg", "circle");
    dot.setAttribute("cx", times.length === 1 ? 20 : 20 + 560 * t / last);
    dot.setAttribute("cy", 15);
    dot.setAttribute("r", 9);
    svg.appendChild(dot);
  }
}

// answered keeps how well the code was known. One not known comes again in this turn.
function answered(quality, words) {
  const kept = read();
  const key = work.card.key;
  if (!work.again.includes(key)) kept[work.way][key] = after(kept[work.way][key] || NEW, quality, today());
  write(kept);
  work.seen++;
  if (quality >= KNOWN) work.right++;
  else {
    work.again.push(key);
    work.left.push(key);
  }
  $(".told").textContent = words;
  for (const b of document.querySelectorAll(".answers button")) b.disabled = b.dataset.key !== key;
  $(".again").hidden = false;
  $(".on").hidden = false;
  $(".on").focus();
}

function end() {
  clearTimeout(work.silent);
  const names = Array.from(new Set(work.again)).map((k) => cardOf[k].code);
  $(".turn").hidden = true;
  $(".bench").hidden = true;
  $(".begin").hidden = false;
  const said = work.seen ? "You knew " + work.right + " of " + work.seen + " at once. " : "";
  $(".begin p").textContent = said + (names.length ? "These come round again first: " + names.join(", ") + "." : said ? "Nothing is left over." : "Come back when you like.");
}

function others(card) {
  const all = page.cards.filter((c) => c.means !== card.means);
  const near = all.filter((c) => Math.abs(sum(c) - sum(card)) <= 2); // those that an ear mistakes for it
  return shuffled(near.length >= CHOICES - 1 ? near : all).slice(0, CHOICES - 1);
}

const sum = (c) => c.times.length;

function shuffled(list) {
  const out = list.slice();
  for (let i = out.length - 1; i > 0; i--) {
    const j = Math.floor(Math.random() * (i + 1));
    [out[i], out[j]] = [out[j], out[i]];
  }
  return out;
}

function read() {
  try {
    return Object.assign({ ear: {}, hand: {} }, JSON.parse(localStorage.getItem(KEPT)));
  } catch (e) {
    return { ear: {}, hand: {} };
  }
}

function write(kept) {
  try {
    localStorage.setItem(KEPT, JSON.stringify(kept));
  } catch (e) { /* a browser that keeps nothing begins anew */ }
}
