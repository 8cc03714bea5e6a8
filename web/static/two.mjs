// Two boxes at one tablet. Each is its own page with its own wire and bells, and goes on while the other is shown; a bell
// of the one that is not shown is heard, and named on its plate until that plate is pressed; so is whatever else calls there.

const plates = Array.from(document.querySelectorAll(".plate"));
const both = document.querySelector(".both");
const frameOf = (box) => Array.from(document.querySelectorAll("iframe")).find((f) => f.dataset.box === box);

function turnTo(box) {
  for (const p of plates) {
    const here = p.dataset.box === box;
    p.setAttribute("aria-pressed", String(here));
    frameOf(p.dataset.box).classList.toggle("here", here);
    if (here) quiet(p);
  }
  frameOf(box).contentWindow.focus(); // its keys ring now
}

function quiet(plate) {
  plate.classList.remove("rings");
  plate.querySelector(".rang").textContent = "";
}

const beside = () => document.body.classList.contains("abreast");

for (const p of plates) p.addEventListener("click", () => turnTo(p.dataset.box));
if (both) {
  both.addEventListener("click", () => {
    both.setAttribute("aria-pressed", String(document.body.classList.toggle("abreast")));
    if (beside()) plates.forEach(quiet);
  });
}
addEventListener("message", (e) => {
  const plate = e.origin === location.origin && e.data && plates.find((p) => p.dataset.box === e.data.box);
  if (!plate || plate.getAttribute("aria-pressed") === "true" || beside()) return;
  plate.classList.add("rings");
  const rang = plate.querySelector(".rang");
  if (rang.textContent !== e.data.says) rang.textContent = e.data.says;
});
