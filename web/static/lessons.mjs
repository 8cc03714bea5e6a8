// The ladder of lessons. One press begins a lesson and takes duty at its box, and unlocks the sound as the door does.

import { Bells } from "./bells.mjs";
import { enter, takeDuty } from "./duty.mjs";
import { sure } from "./sure.mjs";

const clock = { offset: 0, now: () => performance.now() };

export function begin(no, bells) {
  return fetch("/lessons/" + no, { method: "POST", credentials: "same-origin" })
    .then((r) => (r.ok ? r.json() : r.text().then((words) => { throw new Error(words); })))
    .then(({ sitting, box }) => takeDuty(sitting, box).then(() => enter(sitting, box, bells)));
}

function onBegin(e) {
  const button = e.target.closest("button[data-lesson]");
  if (!button) return;
  button.disabled = true;
  const bells = new Bells(clock, { bells: {} });
  bells.unlock();
  begin(button.dataset.lesson, bells).then(() => document.removeEventListener("click", onBegin)).catch((why) => {
    const says = document.querySelector(".lessons .says");
    if (!says) throw why;
    says.textContent = why.message;
    says.classList.add("on");
    button.disabled = false;
  });
}
// What cannot be taken back wants a second press.
function onForget(e) {
  const button = e.target.closest("button[data-ask]");
  if (button && !sure(button)) e.preventDefault();
}
document.addEventListener("click", onForget);
if (document.body.classList.contains("lessons")) document.addEventListener("click", onBegin);
