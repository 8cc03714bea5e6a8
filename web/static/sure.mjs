// A second press: one brush of the hand must not leave a box empty, nor do what cannot be taken back.

const SURE = 4000; // milliseconds in which it must come

// sure tells whether a button may act: one that asks wants a second press.
export function sure(button) {
  if (!button.dataset.ask || button.dataset.sure) return true;
  const words = button.textContent;
  button.dataset.sure = "yes";
  button.textContent = button.dataset.ask;
  button.setAttribute("aria-live", "assertive");
  setTimeout(() => {
    delete button.dataset.sure;
    button.textContent = words;
    button.removeAttribute("aria-live");
  }, SURE);
  return false;
}

// leaves signs the signaller of a box page off, or turns his closing switch: in at once, out as he goes.
export function leaves(shelf, button) {
  const switches = button.classList.contains("closing-switch");
  const off = !switches || shelf.shown && shelf.shown.open;
  if (!off || sure(button)) shelf.act({ do: switches ? "switch" : "duty", off });
}
