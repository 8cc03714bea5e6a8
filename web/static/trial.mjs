// The trial of the bells: each is struck by itself and named, and the signaller says whether he heard it.

// tryBells goes through a shelf, [{ circuit, name }], and promises whether every bell was heard.
export function tryBells(panel, bells, shelf) {
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
  panel.hidden = false;
  return shelf.reduce((before, bell) => before.then(() => one(bell)), Promise.resolve()).then(() => {
    panel.hidden = true;
    panel.onclick = null;
    return heard;
  });
}
