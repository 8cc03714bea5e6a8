// The visitors' screen: it follows the wire and can do nothing on it.

import { Wire } from "./wire.mjs";

const TURN = 14000; // milliseconds that one explanation stands
const QUIET = 300000; // after which the next trains are shown instead of the last signal

const $ = (selector) => document.querySelector(selector);

const wire = new Wire({ sitting: document.body.dataset.sitting, box: "", as: "visitor" });
wire.addEventListener("away", () => { $(".strip.away").hidden = false; });
wire.addEventListener("present", () => { $(".strip.away").hidden = true; });
wire.addEventListener("news", (e) => told(e.detail.visit));

let quiet = setTimeout(nothing, QUIET);

function told(visit) {
  if (!visit) return;
  $(".scene").innerHTML = visit.scene; // drawn by this program's own page
  fill($(".coming ol"), visit.next || [], "None are booked.");
  const says = visit.says || [];
  for (const line of visit.day || []) $(".day ol").appendChild(item(line));
  if (!says.length) return;
  $(".last").textContent = says[says.length - 1];
  $(".last").hidden = false;
  $(".coming").hidden = true;
  clearTimeout(quiet);
  quiet = setTimeout(nothing, QUIET);
}

function nothing() {
  $(".last").hidden = true;
  $(".coming").hidden = false;
}

function fill(list, lines, none) {
  list.textContent = "";
  for (const line of lines.length ? lines : [none]) list.appendChild(item(line));
}

function item(words) {
  const li = document.createElement("li");
  li.textContent = words;
  return li;
}

// The explanations take turns, so that each minute has told what a section is, what the bells are for and what the lamp.
const tells = $(".tells");
let now = 0;
function turn() {
  const all = Array.from(tells.querySelectorAll("p"));
  all.forEach((p, n) => p.classList.toggle("now", n === now % all.length));
  tells.classList.add("turning");
  now++;
}
turn();
setInterval(turn, TURN);
