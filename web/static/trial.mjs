// The trial of the bells: each is struck by itself and named, and the signaller says whether he heard it.

import { nameOf } from "./readings.mjs";

// tryBells goes through the bells of a shelf and records whether every one was heard.
export function tryBells(shelf, panel) {
  const { bells, ears } = shelf;
  const ask = panel.querySelector(".ask");
  let heard = true;
  const one = (bell) => new Promise((done) => {
    ask.textContent = "This is the bell from " + bell.name + ". Did you hear it?";
    bells.try(bell.circuit);
    panel.querySelector(".yes").focus({ preventScroll: true });
    panel.onclick = (e) => {
      const button = e.target.closest("button");
      if (!button) return;
      if (button.classList.contains("again")) bells.unlock().then(() => bells.try(bell.circuit));
      else {
        if (button.classList.contains("no")) heard = false;
        done();
      }
    };
  });
  const all = (shelf.page.view.shelf || []).map((i) => ({ circuit: i.circuit, name: nameOf(i) }));
  if (!all.length) return null;
  panel.hidden = false;
  return all.reduce((before, bell) => before.then(() => one(bell)), Promise.resolve()).then(() => {
    panel.hidden = true;
    panel.onclick = null;
    ears.say(heard ? "heard" : "not heard", false);
    ears.look();
  });
}
