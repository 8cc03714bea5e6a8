// A box that is watched. Its signaller is told so, and what his tablet shows beyond the record goes to the instructor's page,
// which shows it too. Neither half is fetched before somebody looks on.

const $ = (selector) => document.querySelector(selector);
const all = (selector) => Array.from(document.querySelectorAll(selector));

const WORDS = { owner: "The instructor is looking on.", watch: "Somebody is looking on." };
const GONE = 3000; // milliseconds for which nobody must look on: a page loaded anew is not to be told as two visits
const OFTEN = 100; // milliseconds between two tellings of what is shown

// NOTES are what the instructor is told in words of the signaller's tablet.
const NOTES = {
  lost: "His tablet is off the wire.", hush: "His bells are silent until he taps.", poor: "His line is slow.", try: "He is trying his bells.",
  pen: "He keeps the register by hand.",
};

// mirror takes what a frame says of it.
export function mirror(shelf, f) {
  shelf.mirror = shelf.mirror || (shelf.page.working ? new Watched(shelf) : new Mirror(shelf));
  if (f.watched) shelf.mirror.watched(f.watched.as);
  if (f.shows) shelf.mirror.shows(f.shows);
}

// Watched is the signaller's half.
class Watched {
  constructor(shelf) {
    this.shelf = shelf;
    this.seen = new MutationObserver(() => this.soon());
  }

  watched(as) {
    clearTimeout(this.going);
    this.seen.disconnect();
    this.told = "";
    if (!as) this.going = setTimeout(() => this.says(""), GONE);
    else this.says(WORDS[as]);
    if (as !== "owner") return;
    this.seen.observe(document.body, { subtree: true, childList: true, characterData: true, attributes: true, attributeFilter: ["hidden", "aria-pressed", "class", "wants", "open"] });
    this.soon();
  }

  says(words) {
    const p = $(".watched");
    if (p && p.textContent !== words) p.textContent = words;
  }

  soon() {
    this.timer = this.timer || setTimeout(() => {
      this.timer = 0;
      const shows = shown();
      const told = JSON.stringify(shows);
      if (told === this.told || !this.shelf.wire.ready) return;
      this.told = told;
      this.shelf.wire.send({ kind: "shows", shows });
    }, OFTEN);
  }
}

// shown is what this tablet shows that is in no record.
function shown() {
  const shows = { wants: {}, says: {}, marks: [] };
  const tab = $(".tabs [aria-pressed=true]");
  if (tab) shows.tab = tab.dataset.circuit;
  for (const n of all("tl-needle[wants]")) shows.wants[n.dataset.section] = n.getAttribute("wants");
  for (const b of all("tl-bell")) {
    const words = b.querySelector(".says").textContent;
    if (words) shows.says[b.dataset.circuit] = words;
  }
  for (const [mark, selector] of [["hush", ".strip.hush"], ["poor", ".strip.poor"], ["try", ".try"]]) if (!$(selector).hidden) shows.marks.push(mark);
  if (document.body.classList.contains("by-hand")) shows.marks.push("pen");
  if ($(".telephone[open]")) shows.marks.push("phone");
  const two = new URLSearchParams(location.search).get("two");
  if (two && window.parent !== window) shows.beside = two.split(".").find((box) => box !== $("tl-book").dataset.box);
  const strip = $(".strip.advice");
  if (!strip.hidden) shows.advice = advice(strip);
  return shows;
}

function advice(strip) {
  const [act, why, ask] = ["b", "span", "button"].map((tag) => strip.querySelector(tag));
  const said = { act: act.textContent, why: why.textContent, waits: !ask.hidden };
  const at = $(".advised");
  if (!at) return said;
  const needle = at.closest("tl-needle");
  return Object.assign(said, needle ? { section: needle.dataset.section, show: at.dataset.show } : { circuit: at.closest("tl-bell").dataset.circuit });
}

// Mirror is the instructor's half. Where the signaller goes, or one comes, the page is loaded anew.
class Mirror {
  constructor(shelf) {
    this.shelf = shelf;
    shelf.wire.addEventListener("news", (e) => {
      if (e.detail.view && !e.detail.view.onDuty && !shelf.relief) location.reload();
    });
  }

  shows(s) {
    if (!$(".his")) location.reload(); // it was drawn before he came
    const has = (mark) => (s.marks || []).includes(mark);
    if (s.tab && s.tab !== this.tab) this.shelf.turnTo(s.tab); // and he may look at another meanwhile
    this.tab = s.tab;
    for (const n of all("tl-needle")) {
      const wants = (s.wants || {})[n.dataset.section];
      if (wants) n.setAttribute("wants", wants);
      else n.removeAttribute("wants");
    }
    for (const b of all("tl-bell")) {
      const p = b.querySelector(".says");
      p.textContent = (s.says || {})[b.dataset.circuit] || "";
      p.classList.toggle("on", p.textContent !== "");
    }
    document.body.classList.toggle("by-hand", has("pen"));
    if ($(".telephone")) $(".telephone").open = has("phone");
    this.notes(s, Object.keys(NOTES).filter(has));
    this.advice(s.advice);
  }

  // notes tells the rest in words, with the way to the other pages that he has before him.
  notes(s, marks) {
    const p = $(".his");
    if (!p) return;
    const { sitting, box } = this.shelf.seat;
    const words = marks.map((m) => NOTES[m]);
    const leads = [];
    if (marks.includes("pen")) leads.push(["See it", "/s/" + sitting + "/hand/" + box + "?as=kept"]);
    if (s.beside) {
      words.push("He works " + (this.shelf.page.names[s.beside] || s.beside) + " at the same tablet.");
      if (window.parent === window) leads.push(["See both", "/s/" + sitting + "/two?a=" + box + "&b=" + s.beside]);
    }
    const told = words.join(" ") + leads.join();
    if (told === this.told) return;
    this.told = told;
    p.textContent = words.join(" ") + " ";
    for (const [name, to] of leads) {
      const a = document.createElement("a");
      a.href = to;
      a.textContent = name;
      a.className = "button";
      p.append(a, " ");
    }
  }

  advice(said) {
    const strip = $(".strip.advice");
    strip.hidden = !said;
    for (const e of all(".advised")) e.classList.remove("advised");
    if (!said) return;
    const [act, why, ask] = ["b", "span", "button"].map((tag) => strip.querySelector(tag));
    act.textContent = said.act;
    why.textContent = said.why || "";
    ask.hidden = true;
    const needle = said.section && all("tl-needle").find((n) => n.dataset.section === said.section);
    const bell = said.circuit && this.shelf.bell(said.circuit);
    const at = needle ? needle.querySelector('[data-show="' + said.show + '"]') : bell && bell.plunger;
    if (at) at.classList.add("advised");
  }
}
