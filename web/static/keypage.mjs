// The locked door of a box. The press that takes duty unlocks the sound too, so the box page is laid over this one. A key
// may stand behind the # of the address: it is taken out of it at once, so that nobody hands it on with a link.

import { Bells } from "./bells.mjs";
import { enter, takeDuty } from "./duty.mjs";

const form = document.querySelector("form.key");
const field = form.querySelector("input");
const says = document.querySelector(".says");
const { sitting, box } = form.dataset;
const clock = { offset: 0, now: () => performance.now() };

if (location.hash.length > 1) {
  field.value = decodeURIComponent(location.hash.slice(1));
  history.replaceState(null, "", location.pathname);
}

form.addEventListener("submit", (e) => {
  e.preventDefault();
  const bells = new Bells(clock, { bells: {} });
  bells.unlock();
  takeDuty(sitting, box, field.value).then(() => enter(sitting, box, bells)).catch((why) => {
    says.textContent = why.message;
    says.classList.add("on");
  });
});
