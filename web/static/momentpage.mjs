// Steps through a sitting without loading the page anew, and runs on by itself: the time from step to step is cut by the
// speed, a code is heard at its own rhythm in proportion, and the pitch of the bells stays what it was. Keys: left and
// right step, space runs and stops.

const LONGEST = 4000; // milliseconds that one waits at most for the next step, however long nothing happened
const BREATH = 500; // from the last stroke of a code to the next step
const main = document.querySelector("main");
let context = null;
let running = 0; // the timer, while it runs on
let asked = 0;
const buffers = new Map();

const speed = () => Number(document.querySelector(".running select").value);

function buffer(address) {
  if (!buffers.has(address)) {
    buffers.set(address, fetch(address).then((r) => r.arrayBuffer()).then((b) => context.decodeAudioData(b)));
  }
  return buffers.get(address);
}

// ring plays the strokes of this step and says how long they take.
async function ring() {
  const strokes = JSON.parse(document.querySelector("main").dataset.rings);
  if (!context || !strokes.length) return 0;
  const sounds = await Promise.all(strokes.map((s) => buffer(s.sound)));
  const begin = context.currentTime + 0.05;
  strokes.forEach((s, i) => {
    const source = context.createBufferSource();
    source.buffer = sounds[i];
    source.connect(context.destination);
    source.start(begin + s.after / 1000 / speed());
  });
  return strokes[strokes.length - 1].after / speed();
}

async function go(address) {
  const mine = ++asked;
  const answer = await fetch(address, { credentials: "same-origin" });
  if (!answer.ok || mine !== asked) return stop();
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("main");
  Object.assign(main.dataset, fresh.dataset);
  for (const part of [".steps", ".then", "table", ".duty"]) {
    main.querySelector(part).replaceWith(document.adoptNode(fresh.querySelector(part)));
  }
  history.replaceState(null, "", address);
  const took = await ring();
  if (running && mine === asked) wait(took);
}

function wait(took) {
  const next = main.querySelector("a[rel=next]");
  if (!next) return stop();
  const gap = Math.min(Number(main.dataset.gap) / speed(), LONGEST);
  running = setTimeout(() => go(next.href), Math.max(gap, took + BREATH / speed()));
}

function stop() {
  clearTimeout(running);
  running = 0;
  button.textContent = "Run on with the bells";
}

function run() {
  if (running) return stop();
  context = context || new AudioContext();
  context.resume();
  button.textContent = "Stop";
  running = -1;
  wait(0);
}

const button = document.querySelector(".running button");
document.querySelector(".running").hidden = false;
button.addEventListener("click", run);
main.addEventListener("click", (e) => {
  const link = e.target.closest(".steps a");
  if (!link || e.ctrlKey || e.metaKey) return;
  e.preventDefault();
  go(link.href).catch(stop);
});
document.addEventListener("keydown", (e) => {
  if (e.ctrlKey || e.metaKey || e.altKey || e.target.closest("select")) return;
  const way = { ArrowLeft: "prev", ArrowRight: "next" }[e.key];
  if (way) {
    const link = main.querySelector(`a[rel=${way}]`);
    if (link) go(link.href).catch(stop);
    e.preventDefault();
  } else if (e.key === " " && e.target !== button) {
    run();
    e.preventDefault();
  }
});
