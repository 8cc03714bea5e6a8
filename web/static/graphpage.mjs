// The graph made larger and smaller. Moving about is the browser's own scrolling, by finger, wheel or arrow keys. The
// names of the places stay at the edge. While the sitting goes on the picture is drawn anew, and stays where it was.

const drawing = document.querySelector(".drawing");
const sizing = document.querySelector(".sizing");
const EVERY = 15000; // milliseconds from one drawing to the next
const STEP = 1.25;
let scale = 1;

const size = () => {
  const [, , wide, high] = picture().getAttribute("viewBox").split(" ").map(Number);
  return { wide, high };
};
const picture = () => drawing.querySelector("svg:not(.names)");

function lay() {
  const { wide, high } = size();
  const svg = picture();
  svg.setAttribute("width", (wide * scale).toFixed(0));
  svg.setAttribute("height", (high * scale).toFixed(0));
  const edge = 170;
  const names = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  names.setAttribute("class", "names");
  names.setAttribute("aria-hidden", "true");
  names.setAttribute("viewBox", `0 0 ${edge} ${high}`);
  names.setAttribute("width", (edge * scale).toFixed(0));
  names.setAttribute("height", (high * scale).toFixed(0));
  for (const part of svg.querySelectorAll(".place")) names.append(part.cloneNode(true));
  drawing.querySelector(".names")?.remove();
  drawing.prepend(names);
  atEdge();
}

// atEdge shows the names apart only when the picture's own are out of sight.
function atEdge() {
  drawing.querySelector(".names").classList.toggle("away", drawing.scrollLeft < 4);
}

// zoom keeps the middle of what is seen in the middle.
function zoom(to) {
  const before = scale;
  scale = Math.min(6, Math.max(0.2, to));
  const x = (drawing.scrollLeft + drawing.clientWidth / 2) * scale / before;
  const y = (drawing.scrollTop + drawing.clientHeight / 2) * scale / before;
  lay();
  drawing.scrollTo(x - drawing.clientWidth / 2, y - drawing.clientHeight / 2);
}
const whole = () => zoom(drawing.clientWidth / size().wide);
const does = { larger: () => zoom(scale * STEP), smaller: () => zoom(scale / STEP), whole };
const keys = { "+": does.larger, "=": does.larger, "-": does.smaller, "0": whole };

drawing.addEventListener("scroll", atEdge, { passive: true });
sizing.hidden = false;
sizing.addEventListener("click", (e) => does[e.target.dataset.zoom]?.());
document.addEventListener("keydown", (e) => {
  if (e.ctrlKey || e.metaKey || e.altKey || !keys[e.key]) return;
  e.preventDefault();
  keys[e.key]();
});

async function again() {
  if (document.hidden) return;
  const answer = await fetch(location.href, { credentials: "same-origin" });
  if (!answer.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  const { scrollLeft, scrollTop } = drawing;
  picture().replaceWith(document.adoptNode(fresh.querySelector(".drawing svg")));
  lay();
  drawing.scrollTo(scrollLeft, scrollTop);
  const words = document.querySelector(".telling");
  const open = [...words.querySelectorAll("details")].map((d) => d.open);
  const next = document.adoptNode(fresh.querySelector(".telling"));
  if (next.textContent === words.textContent) return;
  next.querySelectorAll("details").forEach((d, i) => { d.open = open[i] || false; });
  words.replaceWith(next);
}
setInterval(() => again().catch(() => {}), EVERY); // the next time asks again

if (matchMedia("(min-width: 900px)").matches) whole();
else lay();
