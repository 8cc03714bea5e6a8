// The door: one press takes duty at a box. The same press unlocks the sound, so the box page is laid over this one
// instead of being opened by its address: a new page would be silent again.

import { Bells } from "./bells.mjs";
import { enter, takeDuty } from "./duty.mjs";

const FRESH = 4000; // milliseconds after which the line is looked at again

const line = document.querySelector(".line");
const sitting = line.dataset.sitting;
const clock = { offset: 0, now: () => performance.now() };

document.addEventListener("click", onTake);

function onTake(e) {
  const button = e.target.closest("button.take");
  if (!button) return;
  e.preventDefault();
  button.disabled = true;
  const bells = new Bells(clock, { bells: {} });
  bells.unlock();
  takeDuty(sitting, button.dataset.box).then(() => {
    clearInterval(looking);
    document.removeEventListener("click", onTake);
    return enter(sitting, button.dataset.box, bells);
  }).catch((why) => {
    const says = document.querySelector(".door .says");
    if (!says) throw why;
    says.textContent = why.message;
    says.classList.add("on");
    button.disabled = false;
    look();
  });
}

// look shows who has come and gone meanwhile.
function look() {
  if (document.hidden) return;
  fetch("/", { credentials: "same-origin" }).then((r) => r.text()).then((text) => {
    const fresh = new DOMParser().parseFromString(text, "text/html").querySelector(".line");
    const shown = document.querySelector(".line");
    if (fresh && shown && fresh.innerHTML !== shown.innerHTML && !shown.querySelector("button:disabled")) shown.innerHTML = fresh.innerHTML;
  }).catch(() => {}); // the next look may succeed
}
const looking = setInterval(look, FRESH);
